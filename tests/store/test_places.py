"""Which drives are network drives, by the table of mounts."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.store.places import network_kind, new_private_file

MOUNTS = """\
/dev/vda1 / ext4 rw,relatime 0 0
tmpfs /tmp tmpfs rw 0 0
//nas/panel /mnt/panel cifs rw,vers=3.0 0 0
nas:/casks /srv/cask\\040records nfs4 rw 0 0
/dev/vdb1 /mnt/panel/local ext4 rw 0 0
me@host:/ /home/lead/far fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/var/lib/panel.sqlite", None),
        ("/mnt/panel/p.sqlite", "cifs"),
        ("/mnt/panels/p.sqlite", None),
        ("/mnt/panel/local/p.sqlite", None),
        ("/srv/cask records/p.sqlite", "nfs4"),
        ("/home/lead/far/p.sqlite", "fuse.sshfs"),
        ("//nas/panel/p.sqlite", "network path"),
    ],
)
def test_the_longest_mount_point_decides(path: str, kind: str | None) -> None:
    assert network_kind(Path(path), MOUNTS) == kind


def test_no_table_of_mounts_is_no_objection() -> None:
    assert network_kind(Path("/mnt/panel/p.sqlite"), "") is None


def test_a_file_that_is_there_is_not_made_anew(tmp_path: Path) -> None:
    path = tmp_path / "there"
    path.write_text("kept", encoding="utf-8")
    with pytest.raises(FileExistsError):
        new_private_file(path)
    assert path.read_text(encoding="utf-8") == "kept"

"""Where a SQLite file may lie: not on a network drive, and in a folder of its owner's own."""

from __future__ import annotations

import os
from pathlib import Path

from panel.errors import NetworkShare

ALLOWED = "OAKPANEL_ALLOW_NETWORK"
NETWORK_KINDS = frozenset(
    {
        *("nfs", "nfs3", "nfs4", "cifs", "smb", "smb2", "smb3", "smbfs", "afs", "ncp", "ncpfs"),
        *("davfs", "glusterfs", "fuse.davfs", "fuse.sshfs", "fuse.rclone", "fuse.smbnetfs"),
        *("fuse.gvfsd-fuse", "fuse.glusterfs"),
    }
)
FILE_MODE = 0o600
FOLDER_MODE = 0o700


def read_mounts() -> str:
    """Return the machine's table of mounted drives (empty where there is none to read)."""
    try:
        return Path("/proc/mounts").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return ""


def network_kind(path: Path, mounts: str) -> str | None:
    """Return the kind of network drive that *path* lies on, or None for a local one."""
    if str(path).startswith(("\\\\", "//")):
        return "network path"
    best, kind = "", ""
    for line in mounts.splitlines():
        fields = line.split(" ")
        if len(fields) > 2:
            point = fields[1].replace("\\040", " ").replace("\\011", "\t")
            if path.is_relative_to(point) and len(point) >= len(best):
                best, kind = point, fields[2]
    return kind if kind in NETWORK_KINDS else None


def refuse_network(path: Path) -> None:
    """Raise NetworkShare for a file on a network drive, unless the house insists."""
    if os.environ.get(ALLOWED) == "1":
        return
    kind = network_kind(path.resolve(), read_mounts())
    if kind is not None:
        raise NetworkShare(
            f"{path} lies on a network drive ({kind}). SQLite cannot rely on locks there, and two "
            "machines would damage the file. Move it to a disk of this machine, or use PostgreSQL "
            f"for several machines. If one machine alone ever opens it, set {ALLOWED}=1."
        )


def may_write(path: Path) -> bool:
    """Say whether SQLite can write the file; it needs the folder too, for its write-ahead log."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def reading_mode(path: Path) -> dict[str, str]:
    """Return how SQLite should open *path* for reading only.

    Who may not write must leave no file of their own beside it: that would keep the owner out. As
    long as there is no write-ahead log, nobody is writing, and the file is whole as it stands.
    """
    if may_write(path):
        return {"mode": "rw"}
    if Path(f"{path}-wal").exists():
        return {"mode": "ro"}
    return {"mode": "ro", "immutable": "1"}


def new_private_file(path: Path) -> None:
    """Create an empty file that only its owner reads, and its folder likewise where missing.

    Raises
    ------
    FileExistsError
        There is a file already; it is left alone.
    """
    if not path.parent.is_dir():
        path.parent.mkdir(parents=True, mode=FOLDER_MODE)
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_RDWR, FILE_MODE))

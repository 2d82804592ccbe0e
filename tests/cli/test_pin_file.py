"""`--pin-file`: the PIN alone in one line, whatever wrote it; anything else is said, not tried."""

from __future__ import annotations

from pathlib import Path

import pytest

from panel.store.engine import Store
from tests.cli.calling import Call
from tests.cli.proving import entries, house, oakpanel, typed
from tests.houses.pins import PIN

__all__ = ["house", "oakpanel", "typed"]


def written(folder: Path, data: bytes, mode: int = 0o600) -> str:
    file = folder / "pin"
    file.write_bytes(data)
    file.chmod(mode)
    return str(file)


@pytest.mark.parametrize("around", ["\ufeff{}\n", "{}\r\n", "  {}\t \n", "{}", "{}\n\n"])
def test_what_an_editor_puts_round_it_is_left_out(
    oakpanel: Call, tmp_path: Path, around: str
) -> None:
    file = written(tmp_path, around.format(PIN).encode())
    said = oakpanel("--pin-file", file, "people", "add", "N1")
    assert (said.code, "chmod" in said.err) == (0, False)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (f"{PIN}\n1357\n".encode(), "has more than one line"),
        (b"7" * 100_000, "is longer than any PIN"),
        (b"\xff\xfe1\x002\x00", "No PIN can be read"),
        (b" \n", "first line is empty"),
    ],
)
def test_what_is_no_pin_is_no_try(
    oakpanel: Call, house: Store, tmp_path: Path, data: bytes, words: str
) -> None:
    before = entries(house)
    said = oakpanel("--pin-file", written(tmp_path, data), "people", "add", "N1")
    assert said.code == 1
    assert words in said.err
    assert "do not go together" not in said.err
    assert entries(house) == before


def test_a_device_without_an_end_is_no_try(oakpanel: Call, house: Store) -> None:
    said = oakpanel("--pin-file", "/dev/zero", "people", "add", "N1")
    assert "is longer than any PIN" in said.err
    assert not any("sign-in refused" in entry for entry in entries(house))


def test_a_file_that_others_read_is_warned_of(oakpanel: Call, tmp_path: Path) -> None:
    file = written(tmp_path, PIN.encode(), 0o644)
    said = oakpanel("--pin-file", file, "people", "add", "N1")
    assert said.code == 0
    assert f"Others on this machine can read the PIN file {file}: chmod 600" in said.err


def test_without_a_terminal_the_line_to_type_is_shown(oakpanel: Call) -> None:
    said = oakpanel("release", "propose", "Autumn", "--target", "Lantern")
    assert "`oakpanel --pin-file FILE release propose ...`" in said.err

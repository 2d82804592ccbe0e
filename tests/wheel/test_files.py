"""What is in the wheel: all that lies in the house's rooms, and nothing under names of others."""

from __future__ import annotations

from pathlib import Path
from zipfile import ZipFile

import pytest

from tests.wheel.environments import HALVES, ROOT

pytestmark = pytest.mark.wheel
WAY_IN = ROOT / "panel" / "way-in" / "oakpanel"


def own_files() -> dict[str, bytes]:
    """Give every file as it lies here, under the name it has in the wheel."""
    rooms = [(ROOT / half, f"oakpanel/{half}") for half in HALVES]
    found = {
        f"{name}/{path.relative_to(room).as_posix()}": path
        for room, name in [*rooms, (WAY_IN, "oakpanel")]
        for path in room.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    return {
        name: path.read_bytes()
        for name, path in found.items()
        if not name.startswith("oakpanel/panel/way-in/")
    }


def test_every_file_is_there_byte_for_byte(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        packed = {
            name: archive.read(name)
            for name in archive.namelist()
            if ".dist-info/" not in name and not name.endswith("/")
        }
    assert packed == own_files()
    ends = {Path(name).suffix for name in packed}
    assert ends >= {".py", ".csv", ".tcss", ".md", ".svg", ".html", ".css", ".typed", ""}


def test_it_brings_one_name_one_command_and_the_licence(wheel: Path) -> None:
    with ZipFile(wheel) as archive:
        names = archive.namelist()
        (points,) = (name for name in names if name.endswith("entry_points.txt"))
        assert archive.read(points).decode().split() == [
            *("[console_scripts]", "oakpanel", "=", "oakpanel.command:run")
        ]
    assert {name.split("/")[0].split("-")[0] for name in names} == {"oakpanel"}
    assert any(name.endswith(".dist-info/licenses/panel/LICENSE") for name in names)

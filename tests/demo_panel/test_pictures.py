"""The README's pictures ask nothing of the internet."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import demo_panel

PICTURES = Path(demo_panel.__file__).parent / "pictures"
README = Path(demo_panel.__file__).parent.parent / "README.md"


@pytest.mark.parametrize("name", ["booth.svg", "desk.svg"])
def test_a_picture_stands_alone_and_in_the_readme(name: str) -> None:
    drawn = (PICTURES / name).read_text(encoding="utf-8")
    links = set(re.findall(r"https?://[^\s\"')]+", drawn)) - {"http://www.w3.org/2000/svg"}
    assert "@font-face" not in drawn
    assert {link for link in links if "textual" not in link} == set()
    assert f"demo_panel/pictures/{name}" in README.read_text(encoding="utf-8")

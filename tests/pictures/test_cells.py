"""The pen for terminal cells, and pictures as files."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest

from analysis.cell_text import cells
from analysis.pictures import Facet, Mark, Picture, Ready, Row, Shape, Sign, Trust, to_svg
from panel.errors import OakpanelError
from panel.pictures.cells import to_cells
from panel.pictures.writing import FONT, lacks, write_picture
from tests.analysis.pictures.test_pens import plane, rows_picture


@pytest.mark.parametrize("width", [40, 80, 120])
def test_no_line_is_wider_than_asked(width: int) -> None:
    lines = to_cells(rows_picture(), plane(), width=width)
    assert max(map(cells, lines)) <= width
    assert lines == to_cells(rows_picture(), plane(), width=width)


def test_a_mark_stands_where_its_value_is() -> None:
    marks = (
        Mark(Shape.POINT, 0, 0.0),
        Mark(Shape.POINT, 0, 100.0, sign=Sign.HOLLOW),
        Mark(Shape.SPAN, 1, 25.0, 75.0),
        Mark(Shape.POINT, 1, 50.0, sign=Sign.DIAMOND),
        Mark(Shape.LETTERS, 2, 50.0, text="a"),
        Mark(Shape.LETTERS, 2, 50.0, text="b"),
        Mark(Shape.SIZE, 2, 50.0, 75.0),
    )
    rows = (Row("one"), Row("two"), Row("three"))
    picture = Picture("t", "s", rows, (Facet(0.0, 100.0, unit="points"),), marks)
    _, one, two, three, size, figures, _ = to_cells(picture, width=27)
    left = cells("three ")
    assert one[left] == "●"
    assert one[left + 20] == "○"
    assert two[left + 5 : left + 16] == "├────◆────┤"
    assert three[left + 9 : left + 12].strip() == "ab"
    assert size[left + 10 : left + 16] == "└┄┄┄┄┘"
    assert figures.split() == ["0", "points", "100"]


def test_a_bar_of_next_to_nothing_fills_no_cell() -> None:
    marks = (Mark(Shape.BAR, 0, 0.0, 0.2), Mark(Shape.BAR, 1, 0.0, 50.0))
    rows = (Row("a"), Row("b"))
    _, none, half, *_ = to_cells(Picture("t", "s", rows, (Facet(0.0, 100.0),), marks), width=23)
    assert none == "a ▏"
    assert half == "b ███████████"


def test_what_is_not_to_be_leaned_on_stands_apart_by_sign_line_and_place() -> None:
    rows = (
        Row("one", trust=Trust.FIRM, sign=Sign.FULL),
        Row("other", trust=Trust.LOOK_TWICE, sign=Sign.HOLLOW),
        Row("last", trust=Trust.DOUBTFUL, sign=Sign.CROSS),
    )
    picture = Picture("t", "s", rows, (Facet(0.0, 100.0),), ())
    _, one, rule, other, again, last, *_ = to_cells(picture, width=40)
    assert one == "●   one"
    assert rule == again == "╌" * 40
    assert other.startswith("○ other ·   ·")
    assert last.startswith("×  last ·····")
    drawn = to_svg(picture)
    rails = re.findall(r'<path class="rail"( stroke-dasharray="[^"]*")? d=', drawn)
    assert len(set(rails)) == 3
    assert drawn.count('stroke-width="1.5"') == 2


def test_a_bar_that_may_go_further_ends_in_a_point_and_the_aim_is_never_covered() -> None:
    lines = to_cells(plane(), width=80)
    [bar] = [line for line in lines if "█" in line]
    assert bar.endswith("█►")
    assert sum("╌╌╌╌╌" in line and "░" not in line for line in lines) == 2
    whole = replace(plane(), ready=Ready(7.0, 11.0, "ready"))
    assert any(line.endswith("██ ready") for line in to_cells(whole, width=80))


def test_facets_that_do_not_fit_stand_below() -> None:
    facets = tuple(Facet(0.0, 1.0, f"cask {n}") for n in range(8))
    marks = tuple(Mark(Shape.BAR, 0, 0.0, 1.0, facet=n) for n in range(8))
    lines = to_cells(Picture("t", "s", (Row("note"),), facets, marks), width=80)
    heads = [line for line in lines if "cask" in line]
    assert len(heads) == 2
    assert all(f"cask {n}" in " ".join(heads) for n in range(8))


def test_a_point_among_letters_covers_none() -> None:
    marks = (
        *(Mark(Shape.LETTERS, 0, 50.0, text=sign) for sign in "abc"),
        Mark(Shape.POINT, 0, 50.0, sign=Sign.DIAMOND),
    )
    line = to_cells(Picture("t", "s", (Row("n"),), (Facet(0.0, 100.0),), marks))[1]
    assert {"a", "b", "c", "◆"} <= set(line)


def test_a_picture_is_a_new_private_file(tmp_path: Path) -> None:
    path = tmp_path / "found.svg"
    assert write_picture(path, plane()) == []
    assert path.stat().st_mode & 0o777 == 0o600
    with pytest.raises(OakpanelError, match="is there already"):
        write_picture(path, plane())
    with pytest.raises(OakpanelError, match=r"\.svg or \.png"):
        write_picture(tmp_path / "found.pdf", plane())


def test_a_png_says_what_its_font_lacks(tmp_path: Path) -> None:
    path = tmp_path / "found.png"
    [told] = write_picture(path, rows_picture())
    assert "lacks" in told
    assert path.read_bytes().startswith(b"\x89PNG")
    assert write_picture(tmp_path / "other.png", plane()) == []


def test_what_the_font_lacks_is_read_from_it() -> None:
    """Scripts of people who write cask names: the font has some, the rest stands in the SVG."""
    assert not [text for text in ("Añejo", "Ważka", "дуб", "ξύλο", "עץ", "├●┤░") if lacks(text)]
    assert [text for text in ("樽", "나무", "शेरी", "ไม้") if not lacks(text)] == []


def test_a_png_wants_its_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("panel.pictures.writing.find_spec", lambda _name: None)
    with pytest.raises(OakpanelError, match=r"oakpanel\[pictures\]"):
        write_picture(tmp_path / "found.png", plane())


def test_an_end_of_an_interval_covers_no_bar() -> None:
    marks = (
        Mark(Shape.EDGE, 0, 0.0),
        Mark(Shape.EDGE, 0, 50.0),
        Mark(Shape.SPAN, 0, 50.0, 100.0),
        Mark(Shape.POINT, 0, 75.0),
    )
    picture = Picture("t", "s", (Row("n"),), (Facet(0.0, 100.0),), marks)
    line = to_cells(picture, width=43)[1]
    assert line[2:] == "│" + " " * 19 + "┼" + "─" * 9 + "●" + "─" * 9 + "┤"


def test_words_at_the_ends_stand_below_their_line() -> None:
    picture = Picture(
        *("t", "s", (Row("n", ends=("none", "a whole orchard")),), (Facet(0.0, 100.0),)),
        (Mark(Shape.POINT, 0, 50.0),),
    )
    below = to_cells(picture, width=42)[2]
    assert below.split() == ["none", "a", "whole", "orchard"]
    assert len(below) == 42
    svg = to_svg(picture)
    assert ">none<" in svg
    assert ">a whole orchard<" in svg


def test_the_font_lies_there_with_its_licence() -> None:
    assert FONT.is_file()
    assert "Bitstream" in (FONT.parent / "LICENSE").read_text(encoding="utf-8")

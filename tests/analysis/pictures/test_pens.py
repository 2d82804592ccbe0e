"""Marks, the pen for SVG, and how signs are kept apart."""

from __future__ import annotations

import re
from html import unescape
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.cell_text import cells, cut, padded
from analysis.pictures import (
    Facet,
    Firm,
    Legend,
    Mark,
    Picture,
    Plane,
    Ready,
    Row,
    Shape,
    Sign,
    Stretch,
    Trust,
    to_svg,
)
from analysis.pictures.spread import spread_apart
from analysis.pictures.svg_ink import STYLE, WIDTH, text_width

NASTY = '<script>alert("x")</script>&'
NAMES = ("smoke", "熟した梨の皮", "дым костра", "ρητίνη", "قشر البرتقال", NASTY, "n" * 500)


def rows_picture() -> Picture:
    marks = [
        Mark(shape, row, 20.0 + 5 * row, 60.0, text=f"{row}{at}", sign=sign, strong=row % 2 == 0)
        for row in range(len(NAMES))
        for at, shape in enumerate(Shape)
        for sign in (list(Sign) if shape is Shape.POINT else [Sign.FULL])
    ]
    return Picture(
        title=f"What of {NASTY}?",
        says=f"Said of {NASTY}.",
        rows=tuple(
            Row(name, f"beside {name}", trust=list(Trust)[at % 3], sign=list(Sign)[at % 4])
            for at, name in enumerate(NAMES)
        ),
        facets=(Facet(0.0, 100.0, "one", "points"),),
        marks=tuple(marks),
        legend=tuple(Legend(shape, f"{shape} {NASTY}", text="a") for shape in Shape),
    )


def plane() -> Plane:
    return Plane(
        title="How does it grow?",
        says="So it grows.",
        across=Facet(3.0, 12.0, unit="years"),
        up=Facet(0.0, 100.0, unit="points"),
        curve=(
            Stretch((3.0, 9.0), (20.0, 50.0), (10.0, 44.0), (30.0, 56.0), Firm.READ),
            Stretch((9.0, 12.0), (50.0, 55.0), (50.0, 55.0), (50.0, 55.0), Firm.BEYOND),
        ),
        dots=((5.0, 33.0, 25.0, 41.0),),
        aim=(40.0, 60.0),
        ready=Ready(7.0, 12.0, "ready 2027-01-01 to 2032-01-01", further=True),
    )


@pytest.mark.parametrize("picture", [rows_picture(), plane()], ids=["rows", "plane"])
def test_it_is_one_drawing_with_title_and_description(picture: Picture | Plane) -> None:
    drawn = to_svg(picture)
    root = ElementTree.fromstring(drawn)
    space = "{http://www.w3.org/2000/svg}"
    assert root.findtext(f"{space}title") == picture.title
    assert root.findtext(f"{space}desc") == picture.says
    assert root.get("role") == "img"
    assert drawn == to_svg(picture)
    assert len(drawn) < 60_000


def test_nothing_runs_and_nothing_is_fetched() -> None:
    drawn = to_svg(rows_picture(), plane())
    kinds = {node.tag.rpartition("}")[2] for node in ElementTree.fromstring(drawn).iter()}
    assert kinds == {"svg", "title", "desc", "style", "rect", "text", "path", "circle"}
    assert not re.search(r'href|url\(|@import|on\w+="', drawn)


def test_no_letters_overprint() -> None:
    marks = tuple(Mark(Shape.LETTERS, 0, 50.0, text=f"{n:02d}") for n in range(25))
    picture = Picture("t", "s", (Row("note"),), (Facet(0.0, 100.0),), marks)
    drawn = to_svg(picture)
    found = re.findall(r'<text x="([\d.]+)" y="([\d.]+)" class="small" [^>]*>(\d\d)<', drawn)
    assert len(found) == 25
    places = sorted(float(x) for x, _, _ in found)
    gaps = [after - before for before, after in pairwise(places)]
    assert min(gaps) >= text_width("00", 11)
    assert [text for _, _, text in sorted(found, key=lambda one: float(one[0]))] == sorted(
        text for _, _, text in found
    )


def test_all_words_stay_on_the_paper() -> None:
    for x, anchor, text in re.findall(
        r'<text x="([\d.]+)"[^>]*?(?:text-anchor="(\w+)")?>([^<]*)<', to_svg(rows_picture())
    ):
        room = text_width(unescape(text), 11)
        left = float(x) - {"": 0.0, "end": room, "middle": room / 2}[anchor]
        assert left >= 0.0
        assert left + room <= WIDTH


@pytest.mark.parametrize("dark", [False, True])
def test_text_can_be_read_on_both_papers(dark: bool) -> None:
    """Contrast of 4.5 to 1 for text (WCAG 2.1, success criterion 1.4.3)."""
    light, _, night = STYLE.partition("@media")
    part = night if dark else light
    paper = _colour(part, ".paper")
    for ink in (_colour(part, " text"), _colour(part, ".faint")):
        bright, dim = sorted((_luminance(ink), _luminance(paper)), reverse=True)
        assert (bright + 0.05) / (dim + 0.05) >= 4.5


def _colour(style: str, name: str) -> str:
    found = re.search(rf"{re.escape(name)}\{{fill:#([0-9a-f]{{6}})", style)
    assert found is not None
    return found.group(1)


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@given(st.lists(st.tuples(st.floats(0.0, 100.0), st.floats(0.5, 9.0)), min_size=1, max_size=12))
def test_signs_are_moved_apart_and_no_further(signs: list[tuple[float, float]]) -> None:
    middles = sorted(middle for middle, _ in signs)
    widths = [width for _, width in signs]
    moved = spread_apart(middles, widths, -200.0, 300.0)
    edges = [(m - w / 2, m + w / 2) for m, w in zip(moved, widths, strict=True)]
    for (_, end), (start, _) in pairwise(edges):
        assert start >= end - 1e-6
    wished = list(zip(middles, widths, strict=True))
    if all(b - wb / 2 >= a + wa / 2 for (a, wa), (b, wb) in pairwise(wished)):
        assert moved == pytest.approx(middles, abs=1e-6)


def test_signs_stay_within_the_line() -> None:
    moved = spread_apart([0.0, 0.0, 100.0], [10.0, 10.0, 10.0], 0.0, 100.0)
    assert moved == pytest.approx([5.0, 15.0, 95.0])


def test_wide_signs_take_two_cells() -> None:
    assert cells("梨ab") == 4
    assert cells("e\u0301") == 1
    assert cut("熟した梨", 5) == "熟し…"
    assert padded("梨", 4) == "梨  "
    assert padded("梨", 4, right=True) == "  梨"

"""How the SVG pen draws a picture of rows."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from ..digits import in_digits
from .marks import Facet, Mark, Picture, Row, Shape, Trust
from .spread import spread_apart
from .svg_ink import WIDTH, Lines, cut_to, legend_lines, number, text_width

STEP = 34.0
MOST_NAME, MOST_BESIDE = 270.0, 240.0
ABOVE = 18.0
"""A line of words above a row, where names have no room beside it."""
LEAST_FACET = 96.0
BETWEEN = 14.0
SIGN_ROOM = 16.0
RAILS = {
    Trust.FIRM: "",
    Trust.LOOK_TWICE: ' stroke-dasharray="10 6"',
    Trust.DOUBTFUL: ' stroke-dasharray="2 4"',
}
_UNDER = (Shape.BAND, Shape.BAR, Shape.EDGE, Shape.SIZE, Shape.SPAN, Shape.POINT)


@dataclass(frozen=True)
class Ground:
    """Where the names end, where the lines of the facets lie, how many stand side by side."""

    left: float
    room: float
    beside: float
    abreast: int

    def facet_left(self, at: int) -> float:
        """Where a facet's line begins."""
        return self.left + at * (self.room + BETWEEN)

    def x(self, facet: Facet, at: int, value: float) -> float:
        """Return where a value stands; what lies beyond an end stands at it."""
        share = (value - facet.low) / (facet.high - facet.low)
        return self.facet_left(at) + self.room * min(max(share, 0.0), 1.0)


def ground_of(picture: Picture, drawn: Lines) -> Ground:
    """Divide the width between names, facets and what stands beside."""
    if drawn.narrow:
        return _abreast(picture, drawn.margin + 6, drawn.width - 2 * drawn.margin - 12, 0.0)
    part = drawn.width / WIDTH
    name = min(
        max((text_width(row.name) for row in picture.rows), default=0.0),
        MOST_NAME * part,
    )
    said = [text_width(row.beside, 11) for row in picture.rows if row.beside]
    beside = min(max(said, default=0.0), MOST_BESIDE * part)
    left = drawn.margin + name + 12 + SIGN_ROOM * picture.signed
    room = drawn.width - drawn.margin - left - (beside + 14 if beside else 6)
    return _abreast(picture, left, room, beside)


def _abreast(picture: Picture, left: float, all_room: float, beside: float) -> Ground:
    fit = max(int((all_room + BETWEEN) // (LEAST_FACET + BETWEEN)), 1)
    abreast = min(len(picture.facets), fit)
    return Ground(left, (all_room + BETWEEN) / abreast - BETWEEN, beside, abreast)


def row_lines(picture: Picture, drawn: Lines, top: float) -> float:
    """Draw rows, facets and legend from `top` on; return where they end."""
    ground = ground_of(picture, drawn)
    for first in range(0, len(picture.facets), ground.abreast):
        shown = range(first, min(first + ground.abreast, len(picture.facets)))
        top = _band(picture, ground, shown, drawn, top)
    return legend_lines(picture.legend, drawn, top + 22) if picture.legend else top


def _band(picture: Picture, ground: Ground, shown: range, drawn: Lines, top: float) -> float:
    top = _headings(picture, ground, shown, drawn, top)
    by_place: dict[tuple[int, int], list[Mark]] = defaultdict(list)
    for mark in picture.marks:
        by_place[mark.row, mark.facet].append(mark)
    y = top
    for at, row in enumerate(picture.rows):
        if at in picture.apart:
            ends = f"M{number(drawn.margin)} {number(y + 5)}H{number(drawn.width - drawn.margin)}"
            drawn.stroke(ends, "rail", 1.5)
            y += 10
        y += _name(row, ground, drawn, y)
        for place, facet in enumerate(shown):
            marks = by_place[at, facet]
            _row(picture.facets[facet], place, row, marks, ground, drawn, y + STEP / 2)
        y += STEP
    for place, facet in enumerate(shown):
        _figures(picture.facets[facet], place, ground, drawn, y + 12)
    return y + 16


def _headings(picture: Picture, ground: Ground, shown: range, drawn: Lines, top: float) -> float:
    if not any(picture.facets[facet].heading for facet in shown):
        return top
    for place, facet in enumerate(shown):
        whole = picture.facets[facet].heading
        words = cut_to(whole, ground.room, 11)
        drawn.words(ground.facet_left(place), top + 14, words, "small strong", whole=whole)
    return top + 20


def _name(row: Row, ground: Ground, drawn: Lines, y: float) -> float:
    """Write what a row is; return how much room that takes above it."""
    if drawn.narrow:
        return _name_above(row, drawn, y)
    at, faint = y + STEP / 2 + 4, _faint(row)
    name = cut_to(row.name, ground.left - drawn.margin - 12 - (SIGN_ROOM if row.sign else 0.0))
    if row.sign:
        drawn.sign(drawn.margin + 5, at - 4, row.sign)
    drawn.words(ground.left - 12, at, name, faint, anchor="end", whole=row.name)
    if row.beside:
        words = cut_to(row.beside, ground.beside, 11)
        x = drawn.width - drawn.margin - ground.beside
        drawn.words(x, at, words, f"small {faint}".rstrip(), whole=row.beside)
    return 0.0


def _name_above(row: Row, drawn: Lines, y: float) -> float:
    """The name at the left and what stands beside at the right, or below it."""
    room, faint, left = drawn.width - 2 * drawn.margin, _faint(row), drawn.margin
    if row.sign:
        drawn.sign(left + 5, y + 10, row.sign)
        left += SIGN_ROOM
        room -= SIGN_ROOM
    name = cut_to(row.name, room)
    drawn.words(left, y + 14, name, faint, whole=row.name)
    if not row.beside:
        return ABOVE
    words, kind = cut_to(row.beside, room, 11), f"small {faint}".rstrip()
    if text_width(name) + 12 + text_width(words, 11) <= room:
        x = drawn.width - drawn.margin
        drawn.words(x, y + 14, words, kind, anchor="end", whole=row.beside)
        return ABOVE
    drawn.words(left, y + 29, words, kind, whole=row.beside)
    return ABOVE + 15


def _faint(row: Row) -> str:
    return "faint" if row.trust is Trust.DOUBTFUL else ""


def _row(
    facet: Facet,
    place: int,
    row: Row,
    marks: list[Mark],
    ground: Ground,
    drawn: Lines,
    y: float,
) -> None:
    left = ground.facet_left(place)
    dashes = RAILS[row.trust]
    drawn.made.append(
        f'<path class="rail"{dashes} d="M{number(left)} {number(y)}H{number(left + ground.room)}"/>'
    )
    _ends(row, left, ground.room, drawn, y)
    for mark in sorted(
        (m for m in marks if m.shape in _UNDER), key=lambda m: _UNDER.index(m.shape)
    ):
        _mark(mark, facet, place, ground, drawn, y)
    _letters([m for m in marks if m.shape is Shape.LETTERS], facet, place, ground, drawn, y)


def _ends(row: Row, left: float, room: float, drawn: Lines, y: float) -> None:
    for words, x, anchor in zip(row.ends, (left, left + room), ("start", "end"), strict=True):
        if words:
            shown = cut_to(words, room / 2 - 6, 11)
            drawn.words(x, y + 15, shown, "small faint", anchor=anchor, whole=words)


def _mark(mark: Mark, facet: Facet, place: int, ground: Ground, drawn: Lines, y: float) -> None:
    x, x2 = ground.x(facet, place, mark.x), ground.x(facet, place, mark.x2)
    if mark.shape is Shape.POINT:
        drawn.sign(x, y, mark.sign, strong=mark.strong)
    elif mark.shape is Shape.SPAN:
        drawn.span(x, x2, y, strong=mark.strong)
    elif mark.shape is Shape.SIZE:
        drawn.size(x, x2, y + 13)
    elif mark.shape is Shape.EDGE:
        drawn.stroke(f"M{number(x)} {number(y - STEP / 2)}v{STEP:g}", "line", 1.2)
    elif mark.shape is Shape.BAND:
        drawn.box(min(x, x2), y - STEP / 2 + 2, abs(x2 - x), STEP - 4, "band")
    else:
        drawn.box(min(x, x2), y - 6, abs(x2 - x), 12, "bar")


def _letters(
    marks: list[Mark], facet: Facet, place: int, ground: Ground, drawn: Lines, y: float
) -> None:
    """Ticks on the line, letters above it pushed apart in the order of their values."""
    ranked = sorted(marks, key=lambda mark: (mark.x, mark.text))
    at = [ground.x(facet, place, mark.x) for mark in ranked]
    widths = [text_width(mark.text, 11) + 2 for mark in ranked]
    left = ground.facet_left(place) - 8
    shifted = spread_apart(at, widths, left, left + ground.room + 16)
    for mark, x, moved in zip(ranked, at, shifted, strict=True):
        drawn.stroke(f"M{number(x)} {number(y - 3)}v6", "line", 1.6)
        if abs(moved - x) > 3:
            drawn.stroke(
                f"M{number(x)} {number(y - 3)}L{number(moved)} {number(y - 6)}", "soft", 0.8
            )
        kind = "small strong" if mark.strong else "small"
        drawn.words(moved, y - 7, mark.text, kind, anchor="middle")


def _figures(facet: Facet, place: int, ground: Ground, drawn: Lines, y: float) -> None:
    """The figures below a facet: both ends, the middle where there is room, and the unit."""
    left, right = ground.facet_left(place), ground.facet_left(place) + ground.room
    first, last = in_digits(facet.low, "g"), in_digits(facet.high, "g")
    drawn.words(left, y, first, "small faint")
    drawn.words(right, y, last, "small faint", anchor="end")
    unit = facet.unit
    room = ground.room - text_width(first, 11) - text_width(last, 11) - 16
    if unit and text_width(unit, 11) <= room:
        drawn.words((left + right) / 2, y, unit, "small faint", anchor="middle")

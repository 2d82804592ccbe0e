"""How the pen for terminal cells draws a picture of rows: a line a row."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import floor
from typing import TYPE_CHECKING

from analysis.cell_text import cells, cut, padded
from analysis.pictures.marks import Shape, Sign, Trust
from analysis.pictures.spread import spread_apart
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.pictures import Facet, Mark, Picture, Row

MOST_NAME, MOST_BESIDE = 36, 30
LEAST_FACET = 15
SIGN_ROOM = 2
LEAST_ALONE = 46
"""Cells below which a line is too coarse for words to stand beside it; they stand below it then."""
SIGNS = {Sign.FULL: "●", Sign.HOLLOW: "○", Sign.DIAMOND: "◆", Sign.CROSS: "×"}
RAILS = {Trust.FIRM: " ", Trust.LOOK_TWICE: "·   ", Trust.DOUBTFUL: "·"}
Place = Callable[[float], int]
_UNDER = (Shape.BAND, Shape.BAR, Shape.EDGE, Shape.SPAN, Shape.POINT)


@dataclass(frozen=True)
class Room:
    """Cells for the names with their signs, for a facet, for what stands beside (0: below).

    `abreast` facets stand side by side.
    """

    name: int
    facet: int
    beside: int
    abreast: int

    @property
    def below(self) -> bool:
        """Whether the words of a row stand in the line below it."""
        return not self.beside


def room_of(picture: Picture, width: int) -> Room:
    """Divide the width."""
    name = min(max((cells(row.name) for row in picture.rows), default=0), MOST_NAME, width // 2)
    name += SIGN_ROOM * picture.signed
    beside = min(max((cells(row.beside) for row in picture.rows), default=0), MOST_BESIDE)
    room = width - name - 1
    beside = 0 if room - beside - 2 < LEAST_ALONE else beside
    room -= beside + 2 if beside else 0
    abreast = min(len(picture.facets), max((room + 1) // (LEAST_FACET + 1), 1))
    return Room(name, (room + 1) // abreast - 1, beside, abreast)


def row_cells(picture: Picture, width: int) -> list[str]:
    """Return the lines of a picture of rows; facets that do not fit stand below."""
    room = room_of(picture, width)
    lines: list[str] = []
    for first in range(0, len(picture.facets), room.abreast):
        shown = range(first, min(first + room.abreast, len(picture.facets)))
        if any(picture.facets[at].heading for at in shown):
            heads = [padded(picture.facets[at].heading, room.facet) for at in shown]
            lines.append(f"{'':{room.name}} {' '.join(heads)}".rstrip())
        lines += _band(picture, room, shown, width)
    return lines


def _band(picture: Picture, room: Room, shown: range, width: int) -> list[str]:
    by_row: dict[int, list[Mark]] = defaultdict(list)
    for mark in picture.marks:
        by_row[mark.row].append(mark)
    lines: list[str] = []
    for at, row in enumerate(picture.rows):
        if at in picture.apart:
            lines.append("╌" * width)
        lines += _row(picture, by_row[at], row, room, shown)
    figures = [_figures(picture.facets[facet], room.facet) for facet in shown]
    lines.append(f"{'':{room.name}} {' '.join(figures)}".rstrip())
    return lines


def _row(picture: Picture, own: list[Mark], row: Row, room: Room, shown: range) -> list[str]:
    parts = []
    for facet in shown:
        marks = [mark for mark in own if mark.facet == facet]
        parts.append(_line(picture.facets[facet], marks, room.facet, trust=row.trust))
    line = f"{_named(row, room, signed=picture.signed)} {' '.join(parts)}"
    if row.beside and not room.below:
        line += f"  {cut(row.beside, room.beside)}"
    sizes = [mark for mark in own if mark.shape is Shape.SIZE]
    drawn = [_sizes(picture.facets[facet], facet, sizes, room.facet) for facet in shown]
    under = [" ".join(drawn).rstrip()] if sizes else []
    middle = row.beside if room.below and len(shown) == 1 and _goes_between(row, room) else ""
    words = [row.beside] if row.beside and room.below and not middle else []
    under += [" ".join([_end_words(row, room.facet, middle)] * len(shown))] * any(row.ends)
    whole = len(shown) * (room.facet + 1) - 1
    return [line.rstrip(), *_below(words, under, room.name + 1, whole)]


def _named(row: Row, room: Room, *, signed: bool) -> str:
    """The name beside the line, its sign at the left edge where the picture has signs."""
    if not signed:
        return padded(row.name, room.name, right=True)
    sign = SIGNS[row.sign] if row.sign else " "
    return f"{sign} {padded(row.name, room.name - SIGN_ROOM, right=True)}"


def _below(words: list[str], under: list[str], left: int, width: int) -> list[str]:
    """Lines below a row: what is drawn, and its words at the right, where they fit in one."""
    if words and under and cells(under[0]) + 2 + cells(words[0]) <= width:
        first = under[0] + padded(words[0], width - cells(under[0]), right=True)
        return [f"{'':{left}}{line}".rstrip() for line in (first, *under[1:])]
    told = [padded(word, width, right=True) for word in words]
    return [f"{'':{left}}{line}".rstrip() for line in (*under, *told)]


def _goes_between(row: Row, room: Room) -> bool:
    """Whether the words of a row have room between those at the ends of its line."""
    return any(row.ends) and sum(map(cells, (*row.ends, row.beside))) + 4 <= room.facet


def _end_words(row: Row, width: int, middle: str) -> str:
    first, last = (cut(words, (width - 1) // 2) for words in row.ends)
    blank = width - cells(first) - cells(last) - cells(middle)
    return f"{first}{'':{blank // 2}}{middle}{'':{blank - blank // 2}}{last}"


def _line(facet: Facet, marks: list[Mark], width: int, *, trust: Trust) -> str:
    drawn = list((RAILS[trust] * width)[:width])
    place = partial(_place, facet, width)
    # Where letters stand on the line, a point stands among them: none covers the other.
    lettered = any(mark.shape is Shape.LETTERS for mark in marks)
    over = (Shape.LETTERS, Shape.POINT) if lettered else (Shape.LETTERS,)
    under = [mark for mark in marks if mark.shape in _UNDER and mark.shape not in over]
    for mark in sorted(under, key=lambda mark: _UNDER.index(mark.shape)):
        _ink(mark, drawn, place(mark.x), place(mark.x2))
    _letters([mark for mark in marks if mark.shape in over], drawn, place)
    return "".join(drawn)


def _place(facet: Facet, width: int, value: float) -> int:
    share = (value - facet.low) / (facet.high - facet.low)
    return round(min(max(share, 0.0), 1.0) * (width - 1))


def _sizes(facet: Facet, at: int, sizes: list[Mark], width: int) -> str:
    """Lengths stand below the line, so that they cover no letter."""
    drawn = [" "] * width
    for mark in sizes:
        if mark.facet == at:
            _ink(mark, drawn, _place(facet, width, mark.x), _place(facet, width, mark.x2))
    return "".join(drawn)


def _ink(mark: Mark, drawn: list[str], x: int, x2: int) -> None:
    first, last = min(x, x2), max(x, x2)
    if mark.shape is Shape.POINT:
        drawn[x] = SIGNS[mark.sign]
    elif mark.shape is Shape.EDGE:
        drawn[x] = "│"
    elif mark.shape is Shape.BAR and first == last:
        drawn[x] = "▏"  # too little for a cell
    elif mark.shape in {Shape.BAND, Shape.BAR}:
        drawn[first : last + 1] = ("░" if mark.shape is Shape.BAND else "█") * (last - first + 1)
    else:
        left, middle, right = _ends(mark)
        signs = [left, *[middle] * (last - first - 1), right] if last > first else [middle]
        for at, sign in enumerate(signs, start=first):
            drawn[at] = "┼" if drawn[at] == "│" else sign


def _ends(mark: Mark) -> tuple[str, str, str]:
    if mark.shape is Shape.SIZE:
        return "└", "┄", "┘"
    return ("┣", "━", "┫") if mark.strong else ("├", "─", "┤")


def _letters(marks: list[Mark], drawn: list[str], place: Place) -> None:
    ranked = sorted(marks, key=lambda mark: (mark.x, mark.text))
    signs = [mark.text if mark.shape is Shape.LETTERS else SIGNS[mark.sign] for mark in ranked]
    # Single letters stand close; longer signs want a blank between them.
    widths = [float(cells(sign) + (len(sign) > 1)) for sign in signs]
    middles = [place(mark.x) + 0.5 for mark in ranked]
    moved = spread_apart(middles, widths, 0.0, float(len(drawn)))
    for sign, middle, wide in zip(signs, moved, widths, strict=True):
        first = floor(middle - wide / 2 + 0.5)
        for at, letter in enumerate(sign, start=first):
            if 0 <= at < len(drawn):
                drawn[at] = letter


def _figures(facet: Facet, width: int) -> str:
    first, last = in_digits(facet.low, "g"), in_digits(facet.high, "g")
    middle = width - len(first) - len(last)
    unit = facet.unit if cells(facet.unit) + 2 <= middle else ""
    blank = middle - cells(unit)
    return f"{first}{'':{blank // 2}}{unit}{'':{blank - blank // 2}}{last}"

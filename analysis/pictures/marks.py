"""What a picture is: rows, one or several lines to measure along, and marks on them.

A picture of rows has a name at the left of each, one or several facets side by side, each a line
of its own from `low` to `high`, and marks that stand in a row of a facet. A plane has two lines,
across and up. Neither knows how wide or in what ink it will be drawn.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise


class Shape(StrEnum):
    """What a mark is."""

    POINT = "point"
    """A sign at `x`."""
    LETTERS = "letters"
    """The text of the mark at `x`; letters that meet stand side by side in their order."""
    SPAN = "span"
    """An interval from `x` to `x2`, with its ends."""
    SIZE = "size"
    """A length, from `x` to `x2`, that is measured and stands at no place of its own."""
    EDGE = "edge"
    """An upright through the row at `x`."""
    BAND = "band"
    """A shaded ground from `x` to `x2`."""
    BAR = "bar"
    """A bar from `x` to `x2`."""


class Sign(StrEnum):
    """The sign of a point; they are told apart without colour."""

    FULL = "full"
    HOLLOW = "hollow"
    DIAMOND = "diamond"
    CROSS = "cross"


@dataclass(frozen=True)
class Mark:
    """One mark.

    Attributes
    ----------
    row, facet
        Where it stands, counted from 0.
    x, x2
        On the facet's line; what lies beyond an end stands at it.
    text
        The letters of a mark of letters.
    strong
        Drawn bold: what holds.
    """

    shape: Shape
    row: int
    x: float
    x2: float = 0.0
    facet: int = 0
    text: str = ""
    sign: Sign = Sign.FULL
    strong: bool = False


class Trust(StrEnum):
    """How far a row can be leaned on; the line of each is broken otherwise."""

    FIRM = "firm"
    LOOK_TWICE = "look twice"
    DOUBTFUL = "doubtful"


@dataclass(frozen=True)
class Row:
    """A row: its name, what stands at its right, and how far it can be leaned on.

    `sign` stands before the name. `ends` are words at the two ends of its line, where they differ
    from row to row.
    """

    name: str
    beside: str = ""
    trust: Trust = Trust.FIRM
    sign: Sign | None = None
    ends: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Facet:
    """A line to measure along, with its heading and its unit."""

    low: float
    high: float
    heading: str = ""
    unit: str = ""


@dataclass(frozen=True)
class Legend:
    """What a mark means: the mark drawn small, and words."""

    shape: Shape
    words: str
    sign: Sign = Sign.FULL
    text: str = ""


@dataclass(frozen=True)
class Picture:
    """Rows with marks.

    Attributes
    ----------
    title
        The question it answers.
    says
        The answer in a sentence: for a reader who does not see it, and below it.
    apart
        The rows above which a rule stands, since they can be leaned on less than the one before.
    signed
        Whether signs stand before the names.
    """

    title: str
    says: str
    rows: tuple[Row, ...]
    facets: tuple[Facet, ...]
    marks: tuple[Mark, ...]
    legend: tuple[Legend, ...] = ()

    @property
    def apart(self) -> frozenset[int]:
        """The first row of each trust but the topmost."""
        steps = enumerate(pairwise(self.rows), start=1)
        return frozenset(at for at, (above, row) in steps if row.trust is not above.trust)

    @property
    def signed(self) -> bool:
        """Whether any row has a sign before its name."""
        return any(row.sign for row in self.rows)


class Firm(StrEnum):
    """How firmly a curve stands: where it was read, a little past that, or beyond."""

    READ = "read"
    NEAR = "near"
    BEYOND = "beyond"


@dataclass(frozen=True)
class Stretch:
    """A stretch of a plane's curve: places across, and the value with its interval at each.

    What lies beyond is not known, so that it has no interval.
    """

    across: tuple[float, ...]
    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    firm: Firm

    @property
    def known(self) -> bool:
        """Whether anything can be said there."""
        return self.firm is not Firm.BEYOND


@dataclass(frozen=True)
class Ready:
    """From where to where, in words too; `further` where it may last longer than is drawn."""

    start: float
    end: float
    words: str
    further: bool = False


@dataclass(frozen=True)
class Plane:
    """A curve with its interval over two lines.

    Attributes
    ----------
    across, up
        The two lines; across is age in years, or seconds after a sip.
    curve
        Stretches from left to right, each starting where the one before it ends.
    dots
        Points of their own: across, value, low and high.
    aim
        A band across the whole plane, low to high; None without one.
    ready
        A bar below, which ends in a point where it may go further; None without one.
    """

    title: str
    says: str
    across: Facet
    up: Facet
    curve: tuple[Stretch, ...]
    dots: tuple[tuple[float, float, float, float], ...] = ()
    aim: tuple[float, float] | None = None
    ready: Ready | None = None
    legend: tuple[Legend, ...] = ()

"""What is said of ageing: curves and date windows, frozen, ready to become JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from ..as_json import AsJson
from ..influences import Evidence, Rests
from ..readable import Readable, listed


class Mark(StrEnum):
    """How well a point is known: nosed at its age in this wood, a little past it, too far."""

    NOSED = "nosed"
    RECKONED = "reckoned"
    BEYOND = "beyond"


@dataclass(frozen=True)
class Point:
    """One point of a curve, in points of the 0-100 line.

    Attributes
    ----------
    low, high
        Interval of the estimate.
    cask_low, cask_high
        Of a style: where a single cask of it lies; of a cask the same as `low` and `high`.
    on
        Date on which a cask has this age; None for a style.
    mark
        How well it is known; nothing beyond is.
    """

    age_years: float
    estimate: float
    low: float
    high: float
    cask_low: float
    cask_high: float
    mark: Mark
    on: date | None = None

    @property
    def known(self) -> bool:
        """Whether anything can be said at this age."""
        return self.mark is not Mark.BEYOND


@dataclass(frozen=True)
class Reading:
    """What was read of one draw of a cask, with the interval of the reading alone."""

    sample: str
    age_years: float
    reading: float
    low: float
    high: float


class Outside(StrEnum):
    """Why nothing is said of a cask at any of its ages."""

    YOUNG = "too young"
    OLD = "too old"
    WOOD = "wood not nosed"


@dataclass(frozen=True)
class Curve:
    """How one descriptor grows with age, for a style or for one cask.

    Attributes
    ----------
    cask, filling
        None for a style.
    n_casks, n_again
        Casks of the style nosed, and of these nosed at more than one age.
    points
        Empty where there is a `reason`.
    ages_known
        From which age to which something may be said in this wood; None where none was nosed.
    change_a_year
        Points a year over the ages that are known, from the middle of them on.
    found_now
        What the last draw of the cask was found to be, moved to the date asked: a match and a
        vatting go by that, while the curve takes all draws and the like of the cask together.
        None of a style, and of notes on no line of a target asked about.
    """

    descriptor: str
    make: str
    wood: str
    fill_number: int
    cask: str | None
    filling: str | None
    n_casks: int
    n_draws: int
    n_again: int
    evidence: Rests
    points: tuple[Point, ...]
    readings: tuple[Reading, ...] = ()
    note: str | None = None
    reason: str | None = None
    ages_known: tuple[float, float] | None = None
    found_now: float | None = None

    @property
    def outside(self) -> Outside | None:
        """Why no point of it is known; None where one is."""
        if any(point.known for point in self.points):
            return None
        if self.ages_known is None or not self.points:
            return Outside.WOOD
        oldest = max(point.age_years for point in self.points)
        return Outside.YOUNG if oldest < self.ages_known[0] else Outside.OLD

    json_also = ("style",)

    @property
    def style(self) -> str:
        """The style in words."""
        return f"{self.make}, {self.wood}, fill {self.fill_number}"


@dataclass(frozen=True)
class Window:
    """When one cask meets one target.

    Attributes
    ----------
    best_on, best_chance
        The best date, and the chance that every line is within its tolerance then.
    now_chance
        The same on the date asked.
    opens, closes
        First and last date of the run around the best date with chance enough; None without
        one, with `reason`. `closes` at the last date looked at does not mean that it ends there:
        see `note`.
    looked_until
        The last date anything is said of.
    worst_descriptor
        The line furthest off its aim at the best date, in tolerances.
    """

    target: str
    cask: str
    filling: str
    style: str
    age_years: float
    n_draws: int
    now_chance: float | None
    best_on: date | None
    best_chance: float | None
    opens: date | None
    closes: date | None
    looked_until: date | None
    worst_descriptor: str | None
    note: str | None = None
    reason: str | None = None


@dataclass(frozen=True, repr=False)
class Ageing(AsJson, Readable):
    """How styles and casks develop, and when casks meet targets.

    Attributes
    ----------
    curves
        One a style or cask, and descriptor.
    windows
        One a target and cask, the best first.
    evidence
        One a descriptor: casks of different ages and casks drawn and nosed again, kept apart.
    left_out
        Draws, casks and styles without an answer, with the reason.
    level
        Probability that intervals are meant to cover.
    held_against
        What the records hold against each cask that was asked for by number.
    moved_by_age
        Descriptors of which it may be said that age moves them, over all descriptors and
        influences together: of no other does a curve that rises or falls say so. Empty where no
        style is asked for.
    """

    curves: tuple[Curve, ...]
    windows: tuple[Window, ...]
    evidence: tuple[Evidence, ...]
    left_out: Mapping[str, str]
    warnings: tuple[str, ...]
    as_of: date
    level: float
    seed: int
    held_against: Mapping[str, str] = field(default_factory=dict)
    moved_by_age: tuple[str, ...] = ()

    json_keys = (
        *("as_of", "level", "seed", "warnings", "left_out", "evidence", "curves", "windows"),
        *("held_against", "moved_by_age"),
    )

    def said(self) -> Iterator[str]:
        """Give what age moves, when casks meet their targets, and what to know of it all."""
        yield f"As of {self.as_of}: {len(self.curves)} curves, {len(self.windows)} windows."
        if self.moved_by_age:
            yield f"Age moves {', '.join(self.moved_by_age)}."
        yield from listed(f"{one.cask}, {one.target}: {_span(one)}" for one in self.windows)
        yield from self.warnings

    def rows(self) -> Iterable[object]:
        """Give the windows where targets were asked for, else every point of the curves."""
        if self.windows:
            return self.windows
        return [
            {
                "descriptor": curve.descriptor,
                "style": curve.style,
                "cask": curve.cask,
                "age_years": point.age_years,
                "on": point.on,
                "estimate": point.estimate if point.known else None,
                "low": point.low if point.known else None,
                "high": point.high if point.known else None,
                "mark": point.mark.value,
            }
            for curve in self.curves
            for point in curve.points
        ]


def _span(window: Window) -> str:
    if window.reason:
        return window.reason
    note = f" ({window.note})" if window.note else ""
    return f"from {window.opens} to {window.closes}{note}"

"""The numbers behind a chart: everybody's line over sessions, weighed, and who is called."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from .off_others import LEAST_BESIDE, Glasses, Numbers, off_others
from .start_sums import Spread, Starts, clipped, spread, starts

LEAST_SESSIONS = 10
"""Before that many a person's own level and noise are too little known."""
LIMIT = 2000.0
"""Sessions on the mean to a false alarm, at least; a chart of one note takes it once a note."""
_WORTH = 10.0
"""Sessions that what the glasses say of a person's noise is worth."""

Key = tuple[str, str | None]
"""A person and a note; None for all notes together."""


@dataclass(frozen=True)
class Line:
    """The numbers of one chart, in order, with the session each belongs to.

    `usual` is the variance as the glasses tell it, worth so many sessions; where it is worth
    nothing, only the line itself tells how far a session strays.
    """

    session: np.ndarray
    off: Vector
    level: np.ndarray
    usual: float = 0.0
    worth: float = 0.0
    lean: Matrix | None = None

    @property
    def enough(self) -> bool:
        """Whether there are sessions enough to be charted."""
        return len(self.off) >= LEAST_SESSIONS


@dataclass(frozen=True)
class Weighed:
    """A chart's numbers as they were weighed; `df` is None where the glasses tell the noise too."""

    value: Vector
    spread: Spread
    starts: Starts
    df: float | None


@dataclass(frozen=True)
class People:
    """Everybody's lines, weighed where there are enough sessions, and who is called on what."""

    lines: Mapping[Key, Line]
    weighed: Mapping[Key, Weighed]
    called: frozenset[Key]


def limit_of(note: str | None, n_notes: int) -> float:
    """Return what the evidence of a chart is held against."""
    return LIMIT if note is None else LIMIT * n_notes


def weigh_people(glasses: Glasses) -> People:
    """Weigh everybody, each laid beside those who are not called."""
    called: set[Key] = set()
    tried: set[Key] = set()
    while True:
        lines = _lines(glasses, called)
        weighed = {key: weigh(line) for key, line in lines.items() if line.enough}
        over = {
            key: part.starts.evidence / limit_of(key[1], len(glasses.notes))
            for key, part in weighed.items()
        }
        back = {key for key in called if over.get(key, 0.0) <= 1.0}
        if back:  # called for what another did
            called -= back
            continue
        fresh = {key: by for key, by in over.items() if by > 1.0 and key not in called | tried}
        if not fresh or not _may_leave(glasses, called):
            break
        chosen = max(fresh, key=lambda key: fresh[key])
        called.add(chosen)
        tried.add(chosen)
    return People(lines, weighed, frozenset(called))


def _may_leave(glasses: Glasses, called: set[Key]) -> bool:
    """Whether enough people are left to be laid beside one another."""
    return len(glasses.people) - len({who for who, _ in called}) > LEAST_BESIDE + 1


def _lines(glasses: Glasses, called: set[Key]) -> dict[Key, Line]:
    numbers = off_others(glasses, called)
    return {
        (who, note): line
        for note, found in numbers.items()
        for who, line in zip(glasses.people, _each(found), strict=True)
        if note is None or len(line.off)
    }


def _each(numbers: Numbers) -> Iterator[Line]:
    """Everybody's line; what the glasses leave of the noise is the same for all."""
    rows = [row[~np.isnan(row)] for row in numbers.off]
    steps = [0.5 * float(np.mean(np.diff(row) ** 2)) for row in rows if len(row) > 2]
    noise = [own for own, row in zip(numbers.noise, rows, strict=True) if len(row) > 2]
    beyond = [max(one - own, 0.0) for one, own in zip(steps, noise, strict=True)]
    shared = float(np.median(beyond)) if beyond else 0.0
    for at, (own, row) in enumerate(zip(numbers.noise, rows, strict=True)):
        usual = shared + (float(own) if np.isfinite(own) else 0.0)
        session = np.flatnonzero(~np.isnan(numbers.off[at]))
        level = np.zeros(len(row), dtype=int)
        yield Line(session, row, level, usual, _WORTH, numbers.lean[at, session])


def weigh(line: Line) -> Weighed:
    """Draw far sessions in, and weigh every start."""
    first = spread(line.off, line.level, line.usual, line.worth)
    value = clipped(line.off, line.level, first.plain)
    again = spread(value, line.level, line.usual, line.worth)
    wider = max(first, again, key=lambda part: part.sd)
    df = None if line.worth else wider.df
    return Weighed(value, wider, starts(value, line.level, wider.sd, line.lean, df), df)

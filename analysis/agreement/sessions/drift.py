"""Is somebody moving? The hidden reference over sessions, per assessor and for the panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ...array_types import Vector
from ...as_json import AsJson
from ..indices.distributions import adjusted_for_many
from ..verdict.drift import (
    MOVING,
    Direction,
    DriftFacts,
    drift_verdict,
)
from ..verdict.words import AssessorWord, Verdict
from .references import Pours, pours_of
from .session_line import LevelsLine, fit_line

LEAST_SESSIONS = 6
"""Fewer references say nothing of a movement: six points leave four degrees of freedom."""
_LAMBDA = 0.2
_RANGE_OF_TWO = 1.128
"""Mean distance of two draws of sd one: turns moving ranges into an sd."""
_SLOPE_LEVEL = 0.05
"""Where the average has left its limits, the line over the sessions has to bear it out."""


@dataclass(frozen=True)
class DriftPoint:
    """One session of a chart.

    Attributes
    ----------
    off
        Points of the 0-100 line away from the middle.
    average
        Exponentially weighted average up to here.
    """

    session: str
    held_on: str | None
    off: float
    average: float


@dataclass(frozen=True)
class Drift(AsJson):
    """How one assessor, or the panel, scored the hidden reference over sessions.

    Attributes
    ----------
    assessor
        None for the panel as a whole. An assessor is measured against the others in the same
        pour, so a session's mood is not taken for a person's drift.
    descriptor
        None for all notes together: somebody who moves up the whole line a little.
    slope_per_session, p, p_adjusted
        Line over the sessions in points a session, its p, and that with false alarms held down
        over all charts that were looked at together.
    sd
        Noise from one session to the next, from the moving ranges.
    average, limit
        Where the weighted average stands now, and ``3 sd sqrt(lambda / (2 - lambda))``.
    note
        What has to be known to read it, such as batches without overlap.
    reason
        Why there are no figures.
    verdict
        Of somebody who moves: which way, and since which date (or session), at which the
        average turned that way; else None.
    """

    assessor: str | None
    descriptor: str | None
    n_sessions: int
    slope_per_session: float | None
    p: float | None
    sd: float | None
    average: float | None
    limit: float | None
    note: str | None
    reason: str | None
    points: tuple[DriftPoint, ...]
    p_adjusted: float | None = None
    verdict: Verdict[AssessorWord] | None = None

    json_keys = (
        *("assessor", "descriptor", "n_sessions", "slope_per_session", "p", "sd", "average"),
        *("limit", "note", "reason", "points", "p_adjusted", "direction", "since", "sentence"),
        "next_action",
    )

    @property
    def direction(self) -> Direction | None:
        """Which way somebody moves."""
        if self.verdict is None:
            return None
        return next(way for way, word in MOVING.items() if word is self.verdict.word)

    @property
    def since(self) -> str | None:
        """Since when somebody moves."""
        return None if self.verdict is None else self.verdict.since

    @property
    def sentence(self) -> str | None:
        """What is said of somebody who moves."""
        return None if self.verdict is None else self.verdict.sentence

    @property
    def next_action(self) -> str | None:
        """What to do about it."""
        return None if self.verdict is None else self.verdict.next_action


def reference_drift(
    scores: pd.DataFrame, descriptors: Sequence[str], false_share: float = 0.05
) -> tuple[Drift, ...]:
    """Chart the hidden reference for the panel and each assessor, on each note and on all.

    Parameters
    ----------
    scores
        Checked scores of several sessions on the 0-100 line; rows of kind ``reference`` count,
        the rest is passed over.
    descriptors
        Which notes.
    false_share
        Share of false alarms accepted among all that are said to move.

    Returns
    -------
    tuple of Drift
        All notes together first, then by descriptor, the panel before the assessors; empty
        when there is no reference at all.

    Notes
    -----
    The panel is charted without those who move by themselves. A new batch of the reference is
    a new liquid: everybody's level on it is free, and movement
    is read within batches, held together by the sessions in which two were poured.
    ``z_t = .2 x_t + .8 z_(t-1)`` from the middle of the span on, limits
    ``+-3 s sqrt(.2 / 1.8) = +-1.0 s`` (Roberts 1959, Technometrics 1:239-250). Somebody is
    said to move when the line over the sessions stands among all charts (Benjamini & Hochberg
    1995), or when the average has left the limits and the line bears it out with p below .05.

    Examples
    --------
    >>> from oakpanel.analysis.frames import check_scores
    >>> rows = [(f"S{t:02d}", pd.Timestamp("2026-01-06") + pd.Timedelta(weeks=t), who, "house", 1,
    ...          "smoke", y + (1.5 * t if who == "A" else 0.0) + (t * 7 + len(who) * 3) % 4)
    ...         for t in range(14) for who, y in (("A", 30), ("BB", 40), ("CCC", 35))]
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> frame = check_scores(pd.DataFrame(rows, columns=names).assign(kind="reference"))
    >>> found = reference_drift(frame, ["smoke"])
    >>> [(part.assessor, str(part.direction)) for part in found if part.descriptor == "smoke"][1]
    ('A', 'upward')
    """
    pours = pours_of(scores, descriptors)
    if pours is None:
        return ()
    notes = (None, *pours.descriptors)
    people = _together(
        [
            _charted(who, note, pours)
            for note in notes
            for who in pours.assessors
            if note is None or pours.has(who, note)
        ],
        false_share,
    )
    moving = {(part.assessor, part.descriptor) for part in people if part.verdict is not None}
    steady = pours.without(moving)
    panel = _together([_charted(None, note, steady) for note in notes], false_share)
    order = {note: at for at, note in enumerate(notes)}
    return tuple(sorted([*panel, *people], key=lambda part: order[part.descriptor]))


def _together(charts: Sequence[Drift], false_share: float) -> list[Drift]:
    """Judge charts that are looked at together."""
    known = [part.p for part in charts if part.p is not None]
    adjusted = iter(adjusted_for_many(np.array(known)).tolist() if known else [])
    return [
        part if part.p is None else _judged(replace(part, p_adjusted=next(adjusted)), false_share)
        for part in charts
    ]


def _charted(assessor: str | None, descriptor: str | None, pours: Pours) -> Drift:
    """One chart with its figures, before anything is said."""
    series = pours.series(assessor, descriptor)
    n = len(np.unique(series.session))
    if n < LEAST_SESSIONS:
        reason = f"{n} references so far, {LEAST_SESSIONS} are needed to see a movement"
        return _without(assessor, descriptor, n, reason)
    together = descriptor is None and pours.note is None
    line = fit_line(series.value, series.session, series.group, linked=together)
    if line is None:
        reason = "no batch of the reference was nosed long enough to see a movement"
        return _without(assessor, descriptor, n, reason)
    sd = float(np.abs(np.diff(line.off)).mean()) / _RANGE_OF_TWO
    if sd <= 1e-9:
        return _without(assessor, descriptor, n, "the reference got the same score every time")
    averages = _averages(line.off)
    return Drift(
        assessor=assessor,
        descriptor=descriptor,
        n_sessions=n,
        slope_per_session=line.slope,
        p=line.p,
        sd=sd,
        average=float(averages[-1]),
        limit=3.0 * sd * float(np.sqrt(_LAMBDA / (2.0 - _LAMBDA))),
        note=pours.note,
        reason=None,
        points=_points(line, averages, pours.sessions, pours.dates),
    )


def _without(assessor: str | None, descriptor: str | None, n: int, reason: str) -> Drift:
    return Drift(
        assessor=assessor,
        descriptor=descriptor,
        n_sessions=n,
        slope_per_session=None,
        p=None,
        sd=None,
        average=None,
        limit=None,
        note=None,
        reason=reason,
        points=(),
    )


def _averages(off: Vector) -> Vector:
    found = np.empty(len(off))
    level = 0.0
    for at, value in enumerate(off):
        level = _LAMBDA * value + (1.0 - _LAMBDA) * level
        found[at] = level
    return found


def _points(
    line: LevelsLine, averages: Vector, names: Sequence[str], dates: Mapping[str, str | None]
) -> tuple[DriftPoint, ...]:
    return tuple(
        DriftPoint(names[int(at)], dates[names[int(at)]], float(off), float(average))
        for at, off, average in zip(line.sessions, line.off, averages, strict=True)
    )


def _turned(averages: Vector, slope: float) -> int:
    """Where the average turned into the way it goes now."""
    return int(np.argmin(averages) if slope > 0.0 else np.argmax(averages))


def _judged(found: Drift, false_share: float) -> Drift:
    """Say of one chart whether it moves, which way and since when."""
    slope, average, limit = found.slope_per_session, found.average, found.limit
    if slope is None or average is None or limit is None or found.p_adjusted is None:
        return found
    beyond = abs(average) > limit and (found.p or 0.0) <= _SLOPE_LEVEL
    if average * slope <= 0.0 or not (beyond or found.p_adjusted <= false_share):
        return found
    start = found.points[_turned(np.array([point.average for point in found.points]), slope)]
    facts = DriftFacts(
        assessor=found.assessor,
        descriptor=found.descriptor,
        direction=Direction.UPWARD if slope > 0 else Direction.DOWNWARD,
        since=start.held_on or start.session,
        moved=abs(slope) * (found.n_sessions - 1),
        n_sessions=found.n_sessions,
    )
    return replace(found, verdict=drift_verdict(facts))

"""Is somebody moving? Every person over all glasses, and the panel on its hidden reference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pandas as pd

from ...array_types import Vector
from ..verdict.drift import Direction, DriftFacts, drift_verdict
from ..verdict.words import AssessorWord, Verdict
from .drift_lines import LEAST_SESSIONS, Line, Weighed, limit_of, weigh, weigh_people
from .drift_result import Drift, DriftPoint, DriftSize, DriftStart
from .off_others import glasses_of
from .references import Pours, pours_of
from .start_sums import Starts, running

_SURE = 0.95
_SURE_SD = 1.96


def chart_drift(scores: pd.DataFrame, descriptors: Sequence[str]) -> tuple[Drift, ...]:
    """Chart every assessor over all glasses and the panel on its hidden reference.

    Parameters
    ----------
    scores
        Checked scores of several sessions on the 0-100 line.
    descriptors
        Which notes.

    Returns
    -------
    tuple of Drift
        All notes together first, then by descriptor, the panel (where a reference was poured)
        before the assessors.

    Notes
    -----
    A session's number is the mean over all glasses of the score less what the others make of the
    same glass (:func:`off_others`), drawn in at 2.5 sd from the running median. The evidence for a
    step is summed over every session at which it could have begun (Shiryaev 1963; Roberts 1966,
    Technometrics 8:411-430) and held against 2,000, a chart of one note against 2,000 times the
    notes: mean sessions to a false alarm are at least that many (Pollak 1987, Annals of Statistics
    15:749-779). Who is called is taken out and the others are charted again, so that nobody is
    called for what another did. A new batch of the reference is a new liquid: the panel's level
    on it is free.

    Examples
    --------
    >>> from oakpanel.analysis.frames import check_scores
    >>> rng = np.random.default_rng(3)
    >>> rows = [(f"S{t:02d}", pd.Timestamp("2025-01-07") + pd.Timedelta(weeks=t), who, f"x{t}{s}",
    ...          1, "smoke", 8.0 * s + rng.normal(30, 4) + (12.0 if who == "A" and t > 11 else 0.0))
    ...         for t in range(20) for who in "ABCDE" for s in range(5)]
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> found = chart_drift(check_scores(pd.DataFrame(rows, columns=names)), ["smoke"])
    >>> [(one.assessor, str(one.direction), one.start.session) for one in found[:5] if one.start]
    [('A', 'upward', 'S12')]
    """
    glasses = glasses_of(scores, descriptors)
    notes = (None, *glasses.notes)
    found = weigh_people(glasses)
    people = [
        _drift(key, line, found.weighed.get(key), glasses.sessions, glasses.dates, len(notes) - 1)
        for key, line in found.lines.items()
    ]
    pours = pours_of(scores, descriptors)
    panel = [] if pours is None else _panel(pours, pours.without(found.called), notes)
    order = {note: at for at, note in enumerate(notes)}
    return tuple(sorted([*panel, *people], key=lambda part: order[part.descriptor]))


def _panel(pours: Pours, steady: Pours, notes: Sequence[str | None]) -> list[Drift]:
    """The panel on its reference, without those who move by themselves."""
    charts = []
    dates = [pours.dates[name] for name in pours.sessions]
    for note in notes:
        if note is not None and note not in pours.adjusted:
            continue
        found = steady.panel(note)
        line = Line(found.session, found.off, found.level)
        part = weigh(line) if line.enough else None
        n_notes = len(pours.adjusted)
        chart = _drift((None, note), line, part, pours.sessions, dates, n_notes)
        charts.append(replace(chart, note=pours.note) if chart.reason is None else chart)
    return charts


def _drift(
    key: tuple[str | None, str | None],
    line: Line,
    part: Weighed | None,
    sessions: Sequence[str],
    dates: Sequence[str | None],
    n_notes: int,
) -> Drift:
    """One chart with its figures, its call and what is said of it."""
    names = [(sessions[int(at)], dates[int(at)]) for at in line.session]
    if part is None or part.spread.sd <= 1e-9:
        return _without(key, line, names, part)
    limit = limit_of(key[1], n_notes)
    over = part.starts.evidence > limit
    begun, moved = (_start(part.starts, names), _size(part.starts)) if over else (None, None)
    sums = running(part.value, line.level, part.spread.sd, line.lean, part.df)
    levels = _levels(part, over)
    found = Drift(
        assessor=key[0],
        descriptor=key[1],
        n_sessions=len(line.off),
        sd=part.spread.sd,
        average=float(levels[-1]),
        limit=limit,
        note=None,
        reason=None,
        points=_points(names, line.off, levels, sums),
        evidence=part.starts.evidence,
        autocorrelation=part.spread.alike,
        start=begun,
        moved=moved,
    )
    return replace(found, verdict=_said(found))


def _points(
    names: Sequence[tuple[str, str | None]], off: Vector, levels: Vector, sums: Vector | None
) -> tuple[DriftPoint, ...]:
    evidence = [None] * len(off) if sums is None else sums.tolist()
    return tuple(
        DriftPoint(*name, *values)
        for name, *values in zip(names, off.tolist(), levels.tolist(), evidence, strict=True)
    )


def _without(
    key: tuple[str | None, str | None],
    line: Line,
    names: Sequence[tuple[str, str | None]],
    part: Weighed | None,
) -> Drift:
    n = len(line.off)
    what = "references" if key[0] is None else "sessions beside two others or more"
    reason = f"cannot tell yet: {n} {what} so far, {LEAST_SESSIONS} are needed to see a movement"
    if part is not None:
        reason = "the same number came out every time"
    level = np.full(n, float(np.mean(line.off)) if n else 0.0)
    return Drift(
        assessor=key[0],
        descriptor=key[1],
        n_sessions=n,
        sd=None,
        average=None,
        limit=None,
        note=None,
        reason=reason,
        points=_points(names, line.off, level, None),
    )


def _levels(part: Weighed, over: bool) -> Vector:
    value = part.value
    if not over:
        return np.full(len(value), float(value.mean()))
    at = int(np.argmax(part.starts.factor)) + 1
    late = np.arange(len(value)) >= at
    found: Vector = np.where(late, value[late].mean(), value[~late].mean())
    return found


def _start(found: Starts, names: Sequence[tuple[str, str | None]]) -> DriftStart:
    """The start with most evidence, and the fewest sessions around it that hold 95 in 100."""
    weight = found.factor / found.evidence
    best = int(np.argmax(weight))
    first, last = best, best
    while weight[first : last + 1].sum() < _SURE and (first > 0 or last < len(weight) - 1):
        before = weight[first - 1] if first > 0 else -1.0
        after = weight[last + 1] if last < len(weight) - 1 else -1.0
        first, last = (first - 1, last) if before >= after else (first, last + 1)
    return DriftStart(*names[best + 1], *names[first + 1], *names[last + 1])


def _size(found: Starts) -> DriftSize:
    """The size over all starts, each as likely as its evidence says."""
    weight = found.factor / found.evidence
    mean = float(weight @ found.step)
    sd = float(np.sqrt(weight @ (found.step_sd**2 + (found.step - mean) ** 2)))
    low, high = mean - _SURE_SD * sd, mean + _SURE_SD * sd
    return DriftSize(mean, low, high)


def _said(found: Drift) -> Verdict[AssessorWord] | None:
    start, moved = found.start, found.moved
    if start is None or moved is None:
        return None
    facts = DriftFacts(
        assessor=found.assessor,
        descriptor=found.descriptor,
        direction=Direction.UPWARD if moved.points > 0 else Direction.DOWNWARD,
        since=start.held_on or start.session,
        earliest=start.first_held_on or start.first,
        latest=start.last_held_on or start.last,
        moved=moved.points,
        low=moved.low,
        high=moved.high,
    )
    return drift_verdict(facts)

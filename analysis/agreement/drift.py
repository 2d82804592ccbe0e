"""Is somebody moving? The hidden reference over sessions, per assessor and for the panel."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.agreement.crossed import Vector
from analysis.agreement.distributions import adjusted_for_many, t_two_sided
from analysis.agreement.layout import additive_levels, means_of_others
from analysis.agreement.verdict.drift import DriftFacts, drift_sentence

LEAST_SESSIONS = 6
"""Fewer references say nothing of a movement: six points leave four degrees of freedom."""
LEAST_OVERLAP = 3
"""Sessions in which an old and a new batch of the reference were both nosed (house rule)."""
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
        Points of the 0-100 line away from the middle of the whole span.
    average
        Exponentially weighted average up to here.
    """

    session: str
    held_on: str | None
    off: float
    average: float


@dataclass(frozen=True)
class Drift:
    """How one assessor, or the panel, scored the hidden reference over sessions.

    Attributes
    ----------
    assessor
        None for the panel as a whole. An assessor is measured against the others in the same
        session, so neither a new batch nor a session's mood is taken for a person's drift.
    slope_per_session, p, p_adjusted
        Line over the sessions in points a session, its p, and that with false alarms held down
        over all charts that were looked at together.
    sd
        Noise from one session to the next, from the moving ranges.
    average, limit
        Where the weighted average stands now, and ``3 sd sqrt(lambda / (2 - lambda))``.
    direction
        ``upward`` or ``downward`` for somebody who moves; else None.
    since
        Date (or session) from which on the average has stayed on that side of the middle.
    note
        What has to be known to read it, such as batches without overlap.
    reason
        Why there are no figures.
    """

    assessor: str | None
    descriptor: str
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
    direction: str | None = None
    since: str | None = None
    sentence: str | None = None
    next_action: str | None = None


def reference_drift(
    scores: pd.DataFrame, descriptors: Sequence[str], false_share: float = 0.05
) -> tuple[Drift, ...]:
    """Chart the hidden reference on some descriptors, the panel first, then each assessor.

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
        By descriptor; empty when there is no reference at all.

    Notes
    -----
    ``z_t = .2 x_t + .8 z_(t-1)`` from the middle of the span on, limits
    ``+-3 s sqrt(.2 / 1.8) = +-1.0 s`` (Roberts 1959, Technometrics 1:239-250). Somebody is
    said to move when the line over the sessions stands among all charts (Benjamini & Hochberg
    1995), or when the average has left the limits and the line bears it out with p below .05.

    Examples
    --------
    >>> from analysis.frames import check_scores
    >>> rows = [(f"S{t:02d}", pd.Timestamp("2026-01-06") + pd.Timedelta(weeks=t), who, "house", 1,
    ...          "smoke", y + (1.5 * t if who == "A" else 0.0) + (t * 7 + len(who) * 3) % 4)
    ...         for t in range(14) for who, y in (("A", 30), ("BB", 40), ("CCC", 35))]
    >>> names = ["session", "held_on", "assessor", "sample", "replicate", "descriptor", "score"]
    >>> frame = check_scores(pd.DataFrame(rows, columns=names).assign(kind="reference"))
    >>> [(part.assessor, part.direction) for part in reference_drift(frame, ["smoke"])][1]
    ('A', 'upward')
    """
    references = scores[scores["kind"] == "reference"]
    charts: list[Drift] = []
    for name in descriptors:
        rows = references[references["descriptor"] == name]
        if len(rows):
            charts += _charts(rows, name)
    known = [part.p for part in charts if part.p is not None]
    adjusted = iter(adjusted_for_many(np.array(known)).tolist() if known else [])
    return tuple(
        part if part.p is None else _judged(replace(part, p_adjusted=next(adjusted)), false_share)
        for part in charts
    )


def _charts(rows: pd.DataFrame, descriptor: str) -> list[Drift]:
    """The panel's chart and each assessor's, before anything is said."""
    chart = _Chart.of(rows)
    series, note = chart.panel()
    panel = replace(_charted(None, descriptor, series, chart.dates), note=note)
    people = chart.people().items()
    return [panel, *(_charted(name, descriptor, own, chart.dates) for name, own in people)]


@dataclass(frozen=True)
class _Chart:
    """References as assessors by pours; a pour is one batch in one session.

    Attributes
    ----------
    adjusted
        Scores with each assessor's own level taken out, shape (assessors, pours).
    """

    assessors: tuple[str, ...]
    sessions: tuple[str, ...]
    session: np.ndarray
    batch: np.ndarray
    adjusted: np.ndarray
    dates: Mapping[str, str | None]

    @classmethod
    def of(cls, rows: pd.DataFrame) -> _Chart:
        named = rows.assign(batch=rows["batch"].where(rows["batch"].notna(), rows["sample"]))
        dates = named.groupby("session")["held_on"].min().reset_index()
        dates = dates.sort_values(["held_on", "session"], na_position="last")
        order = dates["session"].tolist()
        table = named.pivot_table(index="assessor", columns=["session", "batch"], values="score")
        pours = sorted(table.columns, key=lambda pour: (order.index(pour[0]), str(pour[1])))
        means = table[pours].to_numpy(dtype=np.float64)
        return cls(
            assessors=tuple(str(name) for name in table.index),
            sessions=tuple(order),
            session=np.array([order.index(pour[0]) for pour in pours]),
            batch=np.unique([str(pour[1]) for pour in pours], return_inverse=True)[1],
            adjusted=means - additive_levels(means)[:, None],
            dates={
                str(name): None if pd.isna(day) else str(day.date())
                for name, day in zip(dates["session"], dates["held_on"], strict=True)
            },
        )

    def people(self) -> dict[str, list[tuple[str, float]]]:
        """Each assessor less the others in the same pour, by session."""
        apart = self.adjusted - means_of_others(self.adjusted)
        return {
            name: self._by_session(own) for name, own in zip(self.assessors, apart, strict=True)
        }

    def panel(self) -> tuple[list[tuple[str, float]], str | None]:
        """The panel's mean of each session, differences of batches taken out."""
        means = np.nanmean(self.adjusted, axis=0)
        shift, note = self._batch_shifts(means)
        return self._by_session(means - shift[self.batch]), note

    def _by_session(self, values: Vector) -> list[tuple[str, float]]:
        found = []
        for at, name in enumerate(self.sessions):
            own = values[(self.session == at) & ~np.isnan(values)]
            if len(own):
                found.append((name, float(own.mean())))
        return found

    def _batch_shifts(self, means: Vector) -> tuple[Vector, str | None]:
        """Level of each batch: from sessions that had both, else its own mean."""
        n = int(self.batch.max()) + 1
        if n == 1:
            return np.zeros(1), None
        table = np.full((n, len(self.sessions)), np.nan)
        table[self.batch, self.session] = means
        if _well_linked(~np.isnan(table)):
            return additive_levels(table), None
        note = (
            f"the reference changed batch without {LEAST_OVERLAP} sessions in which old and new "
            "were both nosed: the panel is compared within each batch only"
        )
        return np.nanmean(table, axis=1), note


def _well_linked(present: np.ndarray) -> bool:
    """Whether every batch hangs together with the first through enough shared sessions."""
    shared = present.astype(int) @ present.T.astype(int) >= LEAST_OVERLAP
    reached = {0}
    while True:
        more = {int(j) for i in reached for j in np.flatnonzero(shared[i])} - reached
        if not more:
            return len(reached) == len(present)
        reached |= more


def _charted(
    assessor: str | None,
    descriptor: str,
    series: Sequence[tuple[str, float]],
    dates: Mapping[str, str | None],
) -> Drift:
    n = len(series)
    if n < LEAST_SESSIONS:
        reason = f"{n} references so far, {LEAST_SESSIONS} are needed to see a movement"
        return _without(assessor, descriptor, n, reason)
    off = np.array([value for _, value in series])
    off = off - off.mean()
    sd = float(np.abs(np.diff(off)).mean()) / _RANGE_OF_TWO
    if sd <= 1e-9:
        return _without(assessor, descriptor, n, "the reference got the same score every time")
    averages = _averages(off)
    slope, p = _line(off)
    limit = 3.0 * sd * float(np.sqrt(_LAMBDA / (2.0 - _LAMBDA)))
    names = [name for name, _ in series]
    return Drift(
        assessor=assessor,
        descriptor=descriptor,
        n_sessions=n,
        slope_per_session=slope,
        p=p,
        sd=sd,
        average=float(averages[-1]),
        limit=limit,
        note=None,
        reason=None,
        points=tuple(
            DriftPoint(name, dates[name], float(x), float(z))
            for name, x, z in zip(names, off, averages, strict=True)
        ),
    )


def _without(assessor: str | None, descriptor: str, n: int, reason: str) -> Drift:
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


def _line(off: Vector) -> tuple[float, float]:
    """Slope over the sessions in turn, and its two-sided p."""
    n = len(off)
    x = np.arange(n) - (n - 1) / 2.0
    xx = float(x @ x)
    slope = float(x @ off) / xx
    left = off - slope * x
    se = float(np.sqrt((left @ left) / (n - 2) / xx))
    return slope, t_two_sided(slope / se, n - 2) if se > 0.0 else 0.0


def _turned(averages: Vector) -> int:
    """Where the average last came to the side it is on now."""
    other = np.flatnonzero(averages * averages[-1] <= 0.0)
    return int(other[-1]) + 1 if len(other) else 0


def _judged(found: Drift, false_share: float) -> Drift:
    """Say of one chart whether it moves, which way and since when."""
    slope, average, limit = found.slope_per_session, found.average, found.limit
    if slope is None or average is None or limit is None or found.p_adjusted is None:
        return found
    beyond = abs(average) > limit and (found.p or 0.0) <= _SLOPE_LEVEL
    if average * slope <= 0.0 or not (beyond or found.p_adjusted <= false_share):
        return found
    start = found.points[_turned(np.array([point.average for point in found.points]))]
    facts = DriftFacts(
        assessor=found.assessor,
        descriptor=found.descriptor,
        direction="upward" if slope > 0 else "downward",
        since=start.held_on or start.session,
        moved=abs(slope) * (found.n_sessions - 1),
        n_sessions=found.n_sessions,
    )
    said = drift_sentence(facts)
    return replace(
        found,
        direction=facts.direction,
        since=facts.since,
        sentence=said.sentence,
        next_action=said.next_action,
    )

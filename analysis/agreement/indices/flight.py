"""Are the samples of a flight alike: no two further apart than a blender cares for?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis.agreement.indices.additive import Additive, additive
from analysis.agreement.indices.distributions import t_quantile
from analysis.agreement.indices.layout import ScoreLayout
from analysis.array_types import Vector

QUANTILE = 0.04
"""Share of flights with two samples just too far apart that are called alike all the same."""
_DRAWS = 2000
MOST_SAMPLES = 200
"""A flight, or the casks of a few years; a whole stock is never alike."""
_MORE = (2, 3, 4, 6, 8)
_HALVINGS = 24
_PAIR = 0.95


@dataclass(frozen=True)
class FlightSpan:
    """How far apart the samples of a flight are, and how far they may be.

    Attributes
    ----------
    span
        From the lowest to the highest sample mean.
    limit
        Below it the samples are alike: so small a span is rare where two are further apart than
        is cared for.
    at_most
        No two samples differ by more than this; where they do, so small a span is as rare.
    sessions
        So many sessions like this one would find like samples alike more often than not; None
        beyond eight.
    """

    span: float
    limit: float
    at_most: float
    sessions: int | None

    @property
    def alike(self) -> bool:
        """Whether no two samples are further apart than is cared for."""
        return self.span < self.limit


def flight_span(fit: Additive, tolerance: float, sd: float | None = None) -> FlightSpan | None:
    """Lay the span of the sample means beside the spans of unlike flights.

    Choose it, and not a test of difference, to call samples alike: a test that finds nothing may
    be one that could find nothing.

    Parameters
    ----------
    fit
        Assessor plus sample.
    tolerance
        Two samples further apart than this are not alike.
    sd
        Of what is left of a cell; by default the fit's own.

    Returns
    -------
    FlightSpan or None
        None where samples cannot be compared or there is no noise to weigh by.

    Notes
    -----
    Flights in which two samples lie `tolerance` apart and the rest in the middle between (the
    hardest flight to tell from one of like samples) are drawn with this session's own error; the
    .04 quantile of their spans is the limit. No test of difference stands beside it.

    Examples
    --------
    >>> rng = np.random.default_rng(3)
    >>> table = rng.normal(40.0, 3.0, (12, 8))
    >>> found = flight_span(additive(table), 10.0)
    >>> found.alike, found.span < found.at_most < 10.0
    (True, True)
    """
    sd = float(np.sqrt(fit.variance)) if sd is None else sd
    if fit.rank < 1 or not fit.joined or len(fit.columns) > MOST_SAMPLES or not sd > 0.0:
        return None
    parts = _unit_errors(fit.unit.tobytes(), len(fit.columns))
    span = float(np.ptp(fit.columns))
    enough = [n for n in _MORE if _found_alike(parts, sd / np.sqrt(n), tolerance)]
    return FlightSpan(
        span=span,
        limit=_limit(parts, sd, tolerance),
        at_most=max(_at_most(parts, sd, span), span),
        sessions=enough[0] if enough else None,
    )


_Errors = tuple[Vector, Vector, Vector, Vector]


@lru_cache(maxsize=16)
def _unit_errors(unit: bytes, n: int) -> _Errors:
    """Errors of the two outermost samples, and the least and largest of the rest."""
    values, vectors = np.linalg.eigh(np.frombuffer(unit).reshape(n, n))
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    rng = np.random.default_rng(0)
    drawn = rng.standard_normal((_DRAWS, n)) @ root.T
    drawn = np.take_along_axis(drawn, np.argsort(rng.random((_DRAWS, n)), axis=1), axis=1)
    low, high, rest = drawn[:, 0], drawn[:, 1], drawn[:, 2:]
    return low, high, rest.min(axis=1, initial=np.inf), rest.max(axis=1, initial=-np.inf)


def _spans(parts: _Errors, sd: float, apart: float) -> Vector:
    low, high, least, most = parts
    below, above = sd * low - apart / 2.0, sd * high + apart / 2.0
    top = np.maximum(np.maximum(below, above), sd * most)
    bottom = np.minimum(np.minimum(below, above), sd * least)
    found: Vector = top - bottom
    return found


def _quantile(parts: _Errors, sd: float, apart: float) -> float:
    return float(np.quantile(_spans(parts, sd, apart), QUANTILE))


def _limit(parts: _Errors, sd: float, tolerance: float) -> float:
    """Means that lie further apart than is cared for are never called alike."""
    return min(_quantile(parts, sd, tolerance), tolerance)


def _found_alike(parts: _Errors, sd: float, tolerance: float) -> bool:
    """Whether like samples would be called so more often than not."""
    return float(np.median(_spans(parts, sd, 0.0))) < _limit(parts, sd, tolerance)


def _at_most(parts: _Errors, sd: float, span: float) -> float:
    """The least distance of two samples for which so small a span is rare."""
    low, high = 0.0, max(span, sd)
    while _quantile(parts, sd, high) < span:
        high *= 2.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (low, middle) if _quantile(parts, sd, middle) > span else (middle, high)
    return high


@dataclass(frozen=True)
class PairSpan:
    """Two samples that were named beforehand: their difference and how sure it is."""

    difference: float
    se: float
    at_most: float
    tolerance: float

    @property
    def alike(self) -> bool:
        """Whether the two are surely no further apart than is cared for."""
        return self.at_most <= self.tolerance


def pair_span(
    fit: Additive, samples: Sequence[str], first: str, second: str, tolerance: float
) -> PairSpan | None:
    """Are two samples alike that somebody named before looking: ``|d| + t(.95) se <= 10``.

    Returns
    -------
    PairSpan or None
        None where the two cannot be compared. KeyError for a sample that is not there.

    Examples
    --------
    >>> table = np.array([[40.0, 42.0, 70.0], [45.0, 44.0, 77.0], [38.0, 41.0, 69.0]])
    >>> found = pair_span(additive(table), ["x", "y", "z"], "x", "y", 10.0)
    >>> found.alike, round(found.difference, 2)
    (True, -1.33)
    """
    for name in (first, second):
        if name not in samples:
            raise KeyError(name)
    if fit.df < 1 or not fit.joined:
        return None
    one, other = list(samples).index(first), list(samples).index(second)
    unit = fit.unit[one, one] + fit.unit[other, other] - 2.0 * fit.unit[one, other]
    difference, se = float(fit.columns[one] - fit.columns[other]), np.sqrt(fit.variance * unit)
    most = abs(difference) + t_quantile(_PAIR, fit.df) * se
    return PairSpan(difference, float(se), float(most), tolerance)


def over_visits(
    layouts: Sequence[ScoreLayout], samples: Sequence[str]
) -> tuple[Additive, float] | None:
    """The same samples over several sessions, and the sd to weigh their means by.

    Parameters
    ----------
    layouts
        One a session, on one scale.
    samples
        Which of their samples.

    Returns
    -------
    (Additive, float) or None
        The fit of assessor within session plus sample, and its sd; None when nobody scored two
        of them. A lasting disagreement about a sample is no less for more visits: where an
        assessor's own mean over visits is further off than so many single scores would make
        it, that counts.
    """
    wanted = {name: place for place, name in enumerate(samples)}
    tables, people = [], []
    for layout in layouts:
        table = np.full((layout.n_assessors, len(samples)), np.nan)
        known = [place for place, name in enumerate(layout.samples) if name in wanted]
        table[:, [wanted[layout.samples[place]] for place in known]] = layout.means[:, known]
        several = np.sum(~np.isnan(table), axis=1) > 1
        tables.append(table[several])
        people += [name for name, kept in zip(layout.assessors, several, strict=True) if kept]
    if not people:
        return None
    fit = additive(np.vstack(tables))
    return fit, float(np.sqrt(max(fit.variance, _lasting(fit, people))))


def _lasting(fit: Additive, people: Sequence[str]) -> float:
    """Mean square of each assessor's own mean over visits, for one visit."""
    codes = np.unique(np.array(people), return_inverse=True)[1]
    there = ~np.isnan(fit.left)
    shape = (int(codes.max()) + 1, fit.left.shape[1])
    sums, n = np.zeros(shape), np.zeros(shape)
    np.add.at(sums, codes, np.nan_to_num(fit.left))
    np.add.at(n, codes, there.astype(np.float64))
    own, visits = n > 0, np.maximum(n, 1.0)
    df = int(own.sum()) - int(own.any(axis=1).sum()) - fit.rank
    if df < 1:
        return 0.0
    return float(np.sum((sums / visits)[own] ** 2)) / df * float(visits[own].mean())

"""Are the samples of a flight alike: no two further apart than a blender cares for?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ...array_types import Vector
from .additive import Additive, additive
from .distributions import t_quantile
from .layout import ScoreLayout
from .pair import Error

QUANTILE = 0.035
"""Share of flights with two samples just too far apart that are called alike all the same."""
_DRAWS = 8000
MOST_SAMPLES = 200
"""A flight, or the casks of a few years; a whole stock is never alike."""
_MORE = (2, 3, 4, 6, 8)
_HALVINGS = 24
_SURE = 0.95


@dataclass(frozen=True)
class FlightSpan:
    """How far apart the samples of a flight are, and how far they may be.

    Attributes
    ----------
    span
        From the lowest to the highest sample mean.
    limit
        Below it the samples are alike: so small a span is rare where two are further apart than
        is cared for. 0 for a panel so small or so coarse that it could hardly tell.
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


def flight_span(fit: Additive, tolerance: float, error: Error | None = None) -> FlightSpan | None:
    """Lay the span of the sample means beside the spans of unlike flights.

    Choose it, and not a test of difference, to call samples alike: a test that finds nothing may
    be one that could find nothing.

    Parameters
    ----------
    fit
        Assessor plus sample.
    tolerance
        Two samples further apart than this are not alike.
    error
        Sd of what is left of a cell, and on how many degrees of freedom; by default the fit's own.

    Returns
    -------
    FlightSpan or None
        None where samples cannot be compared or there is no noise to weigh by.

    Notes
    -----
    Flights in which two samples lie `tolerance` apart and the rest in the middle between (the
    hardest flight to tell from one of like samples) are drawn with this session's own error; the
    .035 quantile of their spans is the limit. No test of difference stands beside it. An error
    from few degrees of freedom may be far too small by luck: each flight is drawn with one that
    could have left this (Student's way), so that two people can call hardly anything alike.

    Examples
    --------
    >>> rng = np.random.default_rng(3)
    >>> table = rng.normal(40.0, 3.0, (12, 8))
    >>> found = flight_span(additive(table), 10.0)
    >>> found.alike, found.span < found.at_most < 10.0
    (True, True)
    """
    sd, df = (float(np.sqrt(fit.variance)), fit.df) if error is None else error
    if fit.rank < 1 or not fit.joined or len(fit.columns) > MOST_SAMPLES or not sd > 0.0:
        return None
    parts = _unit_errors(fit.unit.tobytes(), len(fit.columns), df)
    span, equal = float(np.ptp(fit.columns)), _spans(parts, sd, 0.0)
    if float(np.quantile(equal, _ODD)) > span:
        return None  # nearer than errors of this size leave even equal samples
    limit, at_most = _limit(parts, sd, tolerance), max(_at_most(parts, sd, span), span)
    if df < _LEAST_DF or float(np.mean(equal < limit)) < _LEAST_FOUND:
        limit, at_most = 0.0, max(at_most, tolerance)
    enough = [n for n in _MORE if _found_alike(parts, sd / np.sqrt(n), tolerance)]
    return FlightSpan(span, limit, at_most, sessions=enough[0] if enough else None)


_Errors = tuple[Vector, Vector, Vector, Vector]


@lru_cache(maxsize=16)
def _unit_errors(unit: bytes, n: int, df: int) -> _Errors:
    """Errors of the two outermost samples, and the least and largest of the rest.

    They are for a sd of one that was found on so many degrees of freedom. The root is the symmetric
    one: samples that are all alike leave eigenvectors to the machine, and with them the draws.
    """
    values, vectors = np.linalg.eigh(np.frombuffer(unit).reshape(n, n))
    root = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
    rng = np.random.default_rng(0)
    drawn = rng.standard_normal((_DRAWS, n)) @ root
    drawn = np.take_along_axis(drawn, np.argsort(rng.random((_DRAWS, n)), axis=1), axis=1)
    drawn *= np.sqrt(df / rng.chisquare(df, (_DRAWS, 1)))
    low, high, rest = drawn[:, 0], drawn[:, 1], drawn[:, 2:]
    return low, high, rest.min(axis=1, initial=np.inf), rest.max(axis=1, initial=-np.inf)


def _spans(parts: _Errors, sd: float, apart: float) -> Vector:
    low, high, least, most = parts
    below, above = sd * low - apart / 2.0, sd * high + apart / 2.0
    top = np.maximum(np.maximum(below, above), sd * most)
    bottom = np.minimum(np.minimum(below, above), sd * least)
    found: Vector = top - bottom
    return found


_ODD = 0.002
"""Spans of equal samples as small as these are no sign that the samples are alike, but that the
errors are not what they are taken for: half the panel the other way round, say."""
_LEAST_DF = 5
"""An error from less is anybody's guess: two people and two glasses call nothing alike."""
_LEAST_FOUND = 0.18
"""Who would hardly ever find like samples alike says so of unlike ones nearly as often."""
_RARE = int(QUANTILE * (_DRAWS - 1))
"""How many of the spans drawn may be smaller; so counted, and not by numpy's general quantile."""


def _quantile(parts: _Errors, sd: float, apart: float) -> float:
    return float(np.partition(_spans(parts, sd, apart), _RARE)[_RARE])


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
class Visits:
    """Several visits to the same samples: their fit, the sd to weigh means by, and its df."""

    fit: Additive
    sd: float
    df: int

    @property
    def error(self) -> Error:
        """What its means are weighed by."""
        return self.sd, self.df


def over_visits(
    layouts: Sequence[ScoreLayout], samples: Sequence[str], *, mostly_zero: bool = False
) -> Visits | None:
    """The same samples over several sessions, and the sd to weigh their means by.

    Parameters
    ----------
    layouts
        One a session, on one scale.
    samples
        Which of their samples.
    mostly_zero
        Where most samples are 0 to everybody, their silence says nothing of the error of one
        that is not: the sd is that of the sample that is disputed most.

    Returns
    -------
    Visits or None
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
    found = [(fit.variance, fit.df), _lasting(fit, people)]
    if mostly_zero:
        found.append(_disputed(fit))
    variance, df = max(found, key=_width)
    return Visits(fit, float(np.sqrt(variance)), df)


_Variance = tuple[float, int]
"""With its degrees of freedom."""


def _width(found: _Variance) -> float:
    """Of an interval by this variance, squared."""
    variance, df = found
    return variance * t_quantile(_SURE, df) ** 2


def _disputed(fit: Additive) -> _Variance:
    """Mean square of what is left in the sample that is disputed most."""
    n = np.sum(~np.isnan(fit.left), axis=0)
    squares = np.nansum(fit.left**2, axis=0)
    each = zip((squares[n > 1] / (n[n > 1] - 1.0)).tolist(), (n[n > 1] - 1).tolist(), strict=True)
    return max(each, default=(0.0, fit.df))


def _lasting(fit: Additive, people: Sequence[str]) -> _Variance:
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
        return 0.0, fit.df
    return float(np.sum((sums / visits)[own] ** 2)) / df * float(visits[own].mean()), df

"""Are two samples alike that somebody named before looking at the means?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .additive import Additive
from .distributions import t_quantile, t_upper

_SURE = 0.95
Error = tuple[float, int]
"""A standard deviation, and on how many degrees of freedom it was found."""


@dataclass(frozen=True)
class PairSpan:
    """Two samples that were named beforehand: their difference and how sure it is.

    Attributes
    ----------
    difference, se
        First less second, and its standard error.
    at_most
        The two differ by no more than this, 19 times in 20.
    p_apart
        The chance of so large a difference in two that are `tolerance` apart and no more.
    times
        About so many times as much would decide, if the two differ as they seem to.
    """

    difference: float
    se: float
    at_most: float
    tolerance: float
    p_apart: float
    times: float

    @property
    def alike(self) -> bool:
        """Whether the two are surely no further apart than is cared for."""
        return self.at_most <= self.tolerance


def pair_span(
    fit: Additive,
    samples: Sequence[str],
    named: tuple[str, str],
    tolerance: float,
    error: Error | None = None,
) -> PairSpan | None:
    """Are two samples alike that somebody named before looking: ``|d| + t(.95) se <= 10``.

    Choose it for two casks that were in question before the glasses were poured. Whoever picks
    the nearest two of a flight afterwards picks by luck: for that there is :func:`flight_span`.

    Parameters
    ----------
    fit
        Assessor plus sample, of `samples` in this order.
    named
        The two.
    tolerance
        Two samples further apart than this are not alike.
    error
        Sd of what is left of a cell, and on how many degrees of freedom; by default the fit's own.

    Returns
    -------
    PairSpan or None
        None where the two cannot be compared. KeyError for a sample that is not there.

    Examples
    --------
    >>> from oakpanel.analysis.agreement.indices.additive import additive
    >>> table = np.array([[40.0, 42.0, 70.0], [45.0, 44.0, 77.0], [38.0, 41.0, 69.0]])
    >>> found = pair_span(additive(table), ["x", "y", "z"], ("x", "y"), 10.0)
    >>> found.alike, round(found.difference, 2)
    (True, -1.33)
    """
    for name in named:
        if name not in samples:
            raise KeyError(name)
    if fit.df < 1 or not fit.joined:
        return None
    one, other = (list(samples).index(name) for name in named)
    unit = fit.unit[one, one] + fit.unit[other, other] - 2.0 * fit.unit[one, other]
    sd, df = (float(np.sqrt(fit.variance)), fit.df) if error is None else error
    difference, se = float(fit.columns[one] - fit.columns[other]), float(sd * np.sqrt(unit))
    t = t_quantile(_SURE, df)
    over = abs(difference) - tolerance
    gap = abs(over)
    return PairSpan(
        difference=difference,
        se=se,
        at_most=abs(difference) + t * se,
        tolerance=tolerance,
        p_apart=t_upper(over / se, df) if se > 0.0 else float(over <= 0.0),
        times=(t * se / gap) ** 2 if gap > 0.0 else float("inf"),
    )

"""Whether what is left over still goes with age: a check of the curve's shape.

Wood is taken to give ever less, smoke to fade: a note that rises and falls again, or comes late
all at once, does not follow. Readings foretold without their cask are compared with what was
read, by fifths of the ages nosed; fifths that lie off one way say where the curve is wrong.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import scipy.special

from ..array_types import Vector

PARTS = 5
LEAST_DRAWS = 40
DOUBT = 0.01
"""Chance of so much left over with the right curve, below which the shape is doubted."""
FAR = 2.0
"""Standard errors from which a part is named."""


@dataclass(frozen=True)
class Shape:
    """How well a descriptor follows its curve.

    Attributes
    ----------
    p
        Chance of as much left over by age if the curve were right; None with too few draws.
    note
        Where it lies off, in words; None where there is no doubt.
    """

    p: float | None
    note: str | None


def check_shape(ages: Vector, residual: Vector, variance: Vector) -> Shape:
    """Check whether residuals still go with age.

    Parameters
    ----------
    ages
        Ages at which the readings were taken.
    residual, variance
        Of readings foretold without their cask; casks count as independent.

    Notes
    -----
    With standardised residuals of mean m_k in part k of n_k readings, ``sum n_k m_k^2`` has
    about a chi-squared distribution with as many degrees of freedom as there are parts.

    Examples
    --------
    >>> ages = np.linspace(2.0, 12.0, 50)
    >>> check_shape(ages, np.where(ages < 4.0, 2.0, 0.0), np.ones(50)).note
    'does not follow a curve that levels off: higher than it at 2 to 4 years'
    """
    if len(ages) < LEAST_DRAWS:
        return Shape(None, None)
    z = residual / np.sqrt(variance)
    part = pd.qcut(ages, PARTS, labels=False, duplicates="drop")
    frame = pd.DataFrame({"part": part, "z": z, "age": ages}).groupby("part")
    off = (frame["z"].mean() * np.sqrt(frame["z"].size())).to_numpy(dtype=np.float64)
    p = float(scipy.special.chdtrc(len(off), float((off**2).sum())))
    if p >= DOUBT:
        return Shape(p, None)
    spans = zip(frame["age"].min().tolist(), frame["age"].max().tolist(), strict=True)
    named = [
        f"{'higher' if far > 0 else 'lower'} than it at {low:.0f} to {high:.0f} years"
        for far, (low, high) in zip(off.tolist(), spans, strict=True)
        if abs(far) >= FAR
    ]
    where = ", ".join(named) or "in several places"
    return Shape(p, f"does not follow a curve that levels off: {where}")

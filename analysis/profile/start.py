"""Where a fit starts that has a predecessor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..array_types import Vector
from .parameters import MOST_RATIO, Parameters
from .result import Profile


def start_of(earlier: Profile, descriptor: str, assessors: Sequence[str]) -> Parameters | None:
    """Parameters of an earlier fit for these assessors; those who are new start in the middle."""
    if descriptor not in earlier.descriptors:
        return None
    fit = earlier.fit(descriptor)
    if not fit.residual:
        return None
    ratios = {name: variance / fit.residual for name, variance in fit.variances.items()}
    if max(ratios.values(), default=0.0) >= MOST_RATIO:
        return None
    return Parameters(
        ratios=ratios,
        squares=fit.residual,
        scale=_carried(fit.scale, assessors),
        noise=_carried(fit.noise, assessors),
        spread=_carried(fit.spread, assessors),
        level_edges=np.array(fit.level_edges),
        level_noise=np.array(fit.level_noise),
        slips=fit.slips or 0.0,
    )


def _carried(known: Mapping[str, float], names: Sequence[str]) -> Vector:
    middle = float(np.mean(list(known.values())))
    return np.array([known.get(name, middle) for name in names])

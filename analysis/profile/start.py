"""Where a fit starts that has a predecessor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..array_types import Vector
from .parameters import Parameters
from .result import Profile


def start_of(
    earlier: Profile, descriptor: str, assessors: Sequence[str], samples: Sequence[str]
) -> tuple[Parameters | None, Vector | None]:
    """Parameters of an earlier fit for these assessors, and where its samples stood.

    Assessors who are new start in the middle; so do samples.
    """
    if descriptor not in earlier.descriptors:
        return None, None
    fit = earlier.fit(descriptor)
    if not fit.residual:
        return None, None
    ratios = {name: variance / fit.residual for name, variance in fit.variances.items()}
    parameters = Parameters(
        ratios=ratios,
        squares=fit.residual,
        scale=_carried(fit.scale, assessors),
        noise=_carried(fit.noise, assessors),
        spread=_carried(fit.spread, assessors),
        level_edges=np.array(fit.level_edges),
        level_noise=np.array(fit.level_noise),
        slips=fit.slips or 0.0,
    )
    return parameters, _levels(earlier, descriptor, samples)


def _carried(known: Mapping[str, float], names: Sequence[str]) -> Vector:
    middle = float(np.mean(list(known.values())))
    return np.array([known.get(name, middle) for name in names])


def _levels(earlier: Profile, descriptor: str, samples: Sequence[str]) -> Vector | None:
    """Deviations of the samples from their mean by the earlier posterior."""
    held = earlier.posterior
    if held is None:
        return None
    column = held.mean[:, held.descriptors.index(descriptor)]
    mean = dict(zip(held.samples, column - np.nanmean(column), strict=True))
    found: Vector = np.nan_to_num(np.array([mean.get(name, 0.0) for name in samples]))
    return found

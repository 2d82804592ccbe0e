"""A profile with its draws as they would be found on another day."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from ..array_types import Matrix, Stack
from ..profile import Profile
from ..profile.posterior import places
from .moves import Moves


def moved_profile(
    profile: Profile, moves: Moves, rows: pd.DataFrame, mean: Matrix, own: Stack
) -> Profile:
    """The same profile with the draws that were moved; estimates are not held to the line."""
    names = moves.descriptors
    place = {str(name): i for i, name in enumerate(rows["sample"])}
    estimates = profile.estimates
    i = estimates["sample"].map(place).fillna(-1).to_numpy(dtype=np.intp)
    d = estimates["descriptor"].map({name: k for k, name in enumerate(names)}).fillna(-1)
    column = d.to_numpy(dtype=np.intp)
    here = np.flatnonzero((i >= 0) & (column >= 0) & estimates["estimate"].notna().to_numpy())
    variance = np.einsum("idd->id", own) + moves.base.common
    value, se = (
        estimates[name].to_numpy(dtype=np.float64, copy=True) for name in ("estimate", "se")
    )
    value[here] = mean[i[here], column[here]]
    se[here] = np.sqrt(variance[i[here], column[here]])
    moved = replace(profile, estimates=estimates.assign(estimate=value, se=se))
    held = profile.posterior
    if held is None or not set(place) <= set(held.samples):
        return moved
    at = places(held.samples, list(place), "sample")
    columns = places(held.descriptors, names, "descriptor")
    means, covariance = held.mean.copy(), held.covariance.copy()
    means[np.ix_(at, columns)] = mean
    covariance[np.ix_(at, columns, columns)] = own
    there = replace(
        held, mean=means, covariance=covariance, latent=None, as_nosed=held.as_nosed or held
    )
    return replace(moved, posterior=there)

"""How far a release may come out from what its casks are estimated at, before any is chosen."""

from __future__ import annotations

import numpy as np

from ..array_types import Floats, Ints
from ..vatting.chance import vat_sd
from ..vatting.check import needed_quantity, quantities
from ..vatting.task import Task

_MOST = 64
"""Casks beyond which own errors average out anyway."""
_DRAWS = 400


def likely_sd(task: Task, rows: Ints) -> Floats:
    """Standard deviation of each line of a likely vatting, points.

    Of the casks nearest to the target as many as the quantity takes, in equal parts: the band of a
    release is drawn in by it before any cask is chosen.

    Parameters
    ----------
    task
        The release.
    rows
        Casks that may go in, one at least.
    """
    columns = task.stock.columns_of(task.descriptors)
    off = np.abs(task.stock.estimate[np.ix_(rows, columns)] - task.aim) / task.tolerance
    held = quantities(task.stock, task.limits)[rows]
    middling = float(np.median(held[held > 0.0])) if np.any(held > 0.0) else 1.0
    casks = int(np.clip(np.ceil(needed_quantity(task.limits) / middling), 1, _MOST))
    near = rows[np.argsort(off @ task.weight, kind="stable")[:casks]]
    return vat_sd(task, np.sort(near), np.ones(len(near)), draws=_DRAWS)

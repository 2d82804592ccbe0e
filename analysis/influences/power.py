"""How well influences foretell what they have not seen: whole casks and batches left out."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..array_types import Codes, Vector
from .left_out import leave_out
from .note_model import NoteModel


@dataclass(frozen=True)
class Power:
    """What a descriptor's model foretells of readings left out.

    Attributes
    ----------
    q2_cask, q2_batch
        ``1 - sum w (y - foretold)^2 / sum w (y - mean)^2``, all draws of a cask, or all casks of
        a filling batch, being left out at a time, the mean too being that of the others. 0: no
        better than the mean of all other casks; below 0: worse.
    ceiling
        The most that q2 could be with a perfect model, since readings are noisy.
    off_by_points
        Typical error (root of the weighted mean square) of a reading foretold without its cask.
    """

    q2_cask: float | None
    q2_batch: float | None
    ceiling: float | None
    off_by_points: float
    reason: str | None = None


def foretold_without(note: NoteModel, groups: Codes) -> tuple[Vector, Vector]:
    """Residuals and variances of all readings, each foretold without its own group.

    The ways of growing are weighed anew without the group. The variances are those of all
    readings: they are few and hardly move.
    """
    parts = [
        leave_out(model, weighed.solution, groups)
        for model, weighed in zip(note.models, note.ways, strict=True)
    ]
    height = np.log([weighed.weight for weighed in note.ways])[:, None]
    height = height - np.array([part.log_density for part in parts])
    share = np.exp(height - height.max(axis=0))
    weight = (share / share.sum(axis=0))[:, groups]
    residuals = np.array([part.residual for part in parts])
    residual = (weight * residuals).sum(axis=0)
    variances = np.array([part.variance for part in parts]) + (residuals - residual) ** 2
    return residual, (weight * variances).sum(axis=0)


def with_inflation(note: NoteModel, residual: Vector, variance: Vector) -> NoteModel:
    """Widen a model by as much as casks left out were further off than it had said.

    With noise r, variance v and residual e of each reading the factor is the root of ``sum
    (e^2 - r)/v`` over ``sum (v - r)/v``, and never below one.

    Parameters
    ----------
    residual, variance
        Of the readings foretold without their cask, see `foretold_without`.
    """
    noise = note.models[0].noise_variance
    seen = float(((residual**2 - noise) / variance).sum())
    said = float(((variance - noise) / variance).sum())
    return replace(note, inflation=float(np.sqrt(max(1.0, seen / max(said, 1e-9)))))


def predictive_power(note: NoteModel, residual: Vector, casks: Codes, batches: Codes) -> Power:
    """Measure how well a model foretells draws of casks and batches it has not seen.

    Parameters
    ----------
    residual
        Of the readings foretold without their cask.
    casks, batches
        Codes of each reading.
    """
    model = note.models[0]
    y, noise = model.y, model.noise_variance
    weight = 1.0 / (noise + max(float(y.var() - noise.mean()), 0.1 * float(y.var()), 1e-9))
    without_batch = residual
    if not np.array_equal(casks, batches):
        without_batch = foretold_without(note, batches)[0]
    q2 = [_q2(y, weight, *part) for part in ((casks, residual), (batches, without_batch))]
    total = float((weight * _off_mean(y, weight, casks) ** 2).sum())
    ceiling = 1.0 - float((weight * noise).sum()) / total if total > 0 else None
    return Power(
        q2_cask=q2[0],
        q2_batch=q2[1],
        ceiling=None if ceiling is None else max(ceiling, 0.0),
        off_by_points=float(np.sqrt((weight * residual**2).sum() / weight.sum())),
        reason=None if q2[1] is not None else "all casks are of one filling batch",
    )


def _q2(y: Vector, weight: Vector, groups: Codes, residual: Vector) -> float | None:
    if groups.max() == 0:
        return None
    total = float((weight * _off_mean(y, weight, groups) ** 2).sum())
    return None if total <= 0 else 1.0 - float((weight * residual**2).sum()) / total


def _off_mean(y: Vector, weight: Vector, groups: Codes) -> Vector:
    """Readings less the mean of all other groups."""
    weights = weight.sum() - np.bincount(groups, weight)
    sums = (weight * y).sum() - np.bincount(groups, weight * y)
    if len(weights) == 1:
        return y - float(y.mean())
    found: Vector = y - (sums / weights)[groups]
    return found

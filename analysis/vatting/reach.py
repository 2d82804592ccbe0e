"""Whether any stock can reach the target, and if not, what stops it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..array_types import Floats, Ints
from .model import Model
from .relax import Relaxed, solve_relaxed
from .task import Task

_REACHED_POINTS = 1e-3


@dataclass(frozen=True)
class ReachedLine:
    """How near one line can come, points.

    Attributes
    ----------
    nearest
        Its score in the nearest profile that all lines can have together.
    outside
        Points that it lies outside its tolerance there.
    lowest_cask, highest_cask
        The range among casks that may go in: no mixture leaves it.
    """

    descriptor: str
    aim: float
    tolerance: float
    nearest: float
    outside: float
    lowest_cask: float
    highest_cask: float


@dataclass(frozen=True)
class Reach:
    """How near the stock can come to a target under the limits.

    Attributes
    ----------
    reachable
        Whether a mixture within every tolerance exists when casks may give any fraction. If
        not, none exists at all.
    missed_points
        Weighted points outside the tolerances at the nearest.
    stopping
        The line without which the rest comes nearest; None when all can be reached.
    lines
        The nearest profile.
    """

    reachable: bool
    missed_points: float
    stopping: str | None
    lines: tuple[ReachedLine, ...]


def find_reach(task: Task, model: Model, relaxed: Relaxed) -> Reach:
    """Say how near the stock comes, from the linear answer for the whole tolerance band.

    Parameters
    ----------
    task, model, relaxed
        The question, its rows for the tolerance band, and the linear answer, which must be
        feasible.
    """
    outside = model.outside(relaxed.fractions)
    missed = float(model.soft_weight @ outside)
    reachable = missed <= _REACHED_POINTS
    return Reach(
        reachable=reachable,
        missed_points=0.0 if reachable else missed,
        stopping=None if reachable else _stopping(task, model, outside),
        lines=_lines(task, model, relaxed),
    )


def _stopping(task: Task, model: Model, outside: Floats) -> str:
    """Leave out each line that is missed, and see which leaves the rest best off."""
    missed = np.unique(model.soft_line[outside > 1e-6])
    left = {int(line): _missed_without(model, int(line)) for line in missed}
    return task.descriptors[min(left, key=lambda line: left[line])]


def _missed_without(model: Model, line: int) -> float:
    kept: Ints = np.flatnonzero(model.soft_line != line).astype(np.intp)
    fewer = replace(
        model,
        soft=model.soft[kept],
        soft_line=model.soft_line[kept],
        soft_weight=model.soft_weight[kept],
    )
    relaxed = solve_relaxed(fewer)
    return float(fewer.soft_weight @ fewer.outside(relaxed.fractions))


def _lines(task: Task, model: Model, relaxed: Relaxed) -> tuple[ReachedLine, ...]:
    lpa = model.lpa * relaxed.fractions
    amounts = task.amounts.mean[model.rows]
    profile = task.amounts.score(lpa @ amounts / max(lpa.sum(), 1e-12))
    scores = task.amounts.score(amounts)
    beyond = np.maximum(np.abs(profile - task.aim) - task.tolerance, 0.0)
    return tuple(
        ReachedLine(
            descriptor=line.descriptor,
            aim=line.aim,
            tolerance=line.tolerance,
            nearest=float(profile[i]),
            outside=float(beyond[i]) if beyond[i] > 1e-4 else 0.0,
            lowest_cask=float(scores[:, i].min()),
            highest_cask=float(scores[:, i].max()),
        )
        for i, line in enumerate(task.target.lines)
    )

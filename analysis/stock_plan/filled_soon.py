"""The fewest casks that would mend a release, filled soon and by then as those of a kind are."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import numpy as np

from ..array_types import Flags, Floats
from ..counted import count
from ..days import DAYS_A_YEAR
from ..vatting.eligible import whole_years
from ..vatting.relax import solve_columns
from .blocks import Problem
from .left import restricted, what_is_left
from .result import Mend, MendKind
from .until import Until
from .verdict import mend_sentence

_FILLED_WITHIN = timedelta(days=120)
_AGE_WITHIN = 0.75
_MOST_CASKS = 40
_FEWEST_ALIKE = 3
_COLUMNS = 400
_CASK_POINTS = 1e-3
_CLOSE = 1e-4


def fill_soon(problem: Problem, fractions: list[Floats], at: int, until: Until) -> Iterator[Mend]:
    """The fewest casks of a kind, filled soon, that would do: as casks of that kind and age are."""
    block, question = problem.blocks[at], problem.question
    filled = question.as_of + _FILLED_WITHIN
    age = (block.release.on - filled).days / DAYS_A_YEAR
    limits = block.release.limits
    least = max(limits.age_statement_years or 0, limits.minimum_age_years or 0.0)
    if age <= 0.0 or whole_years(np.array([age]))[0] < least:
        return
    found = [
        (casks, kind)
        for kind, alike in _kinds(problem, at, age)
        if (casks := _casks_needed(problem, fractions, at, alike, until)) is not None
    ]
    if not found:
        return
    casks, kind = min(found, key=lambda one: one[0])
    named = " ".join(kind.values())
    said = f"{count(casks, f'{named} cask')} filled by {filled}"
    yield Mend(
        MendKind.FILL,
        mend_sentence(MendKind.FILL, block.release.name, said),
        casks=casks,
        like=kind,
        by=filled,
    )


def _kinds(problem: Problem, at: int, age: float) -> Iterator[tuple[dict[str, str], Flags]]:
    """Kinds of cask of which some are on the day as old as one filled soon would be."""
    stock = problem.blocks[at].task.stock
    columns = [name for name in ("make", "wood") if name in stock.casks.columns]
    near = np.abs(stock.age_years - age) <= _AGE_WITHIN
    records = [stock.text(name).astype(str) for name in columns]
    kinds = sorted(set(zip(*(record[near] for record in records), strict=True)))
    for kind in kinds:
        alike = near.copy()
        for record, value in zip(records, kind, strict=True):
            alike &= record == value
        known = {name: value for name, value in zip(columns, kind, strict=True) if value}
        if np.count_nonzero(alike) >= _FEWEST_ALIKE and known:
            yield known, alike


def _casks_needed(
    problem: Problem, fractions: list[Floats], at: int, alike: Flags, until: Until
) -> int | None:
    """How many middling casks of a kind bring the release within its band; None if none do."""
    until.in_time()
    block = problem.blocks[at]
    few, _ = restricted(block, what_is_left(problem, fractions, at))
    if np.count_nonzero(few.model.forced) < np.count_nonzero(block.model.forced):
        return None  # what must be in is elsewhere: no cask that is filled takes its place
    of_kind = np.flatnonzero(alike[block.casks])
    if len(of_kind) < _FEWEST_ALIKE:
        return None
    model, whole = few.model, block.model
    order = np.argsort(np.abs(model.soft).sum(axis=0) / np.maximum(model.lpa, 1e-9))[:_COLUMNS]
    mine = np.flatnonzero(np.isin(model.rows, block.casks[fractions[at] > 0.0]))
    must = np.flatnonzero(model.forced)
    some = model.only(np.unique(np.concatenate([order, mine, must])).astype(np.intp))
    soft = np.hstack([some.soft, whole.soft[:, of_kind].mean(axis=1)[:, None]])
    hard = np.hstack([some.hard, whole.hard[:, of_kind].mean(axis=1)[:, None]])
    found = solve_columns(
        np.vstack([soft, hard]),
        np.concatenate([np.zeros(len(soft)), some.hard_limit]),
        some.soft_weight,
        np.append(some.cost, _CASK_POINTS),
        np.append(some.least, 0.0),
        np.append(some.most, float(_MOST_CASKS)),
    )
    if found.x is None:
        return None
    outside = float(some.soft_weight @ found.x[some.n + 1 :])
    casks = int(np.ceil(found.x[some.n] - 1e-6))
    return casks if outside <= _CLOSE and 0 < casks <= _MOST_CASKS else None

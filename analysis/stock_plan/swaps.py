"""One cask for another: which exchanges between releases, and with the free casks, may be made."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Flags, Floats, Ints
from .blocks import Block, Problem

_HAIR = 1e-9
_KEPT = 1e-7


@dataclass(frozen=True, eq=False)
class Swaps:
    """Exchanges of one release, an entry each.

    Attributes
    ----------
    out, into
        Columns of the release: the cask that goes and the one that comes, with as much pure
        alcohol where parts are drawn.
    fraction
        What the one that comes gives.
    other
        The release that it comes from and the other goes to; -1 of one that is free.
    back, back_fraction, gone
        In that release: the column that comes, what it gives, and the column that goes.
    """

    out: Ints
    into: Ints
    fraction: Floats
    other: Ints
    back: Ints
    back_fraction: Floats
    gone: Ints

    def only(self, which: Flags | Ints) -> Swaps:
        """Some of them."""
        return Swaps(
            *(self.out[which], self.into[which], self.fraction[which], self.other[which]),
            *(self.back[which], self.back_fraction[which], self.gone[which]),
        )

    def __len__(self) -> int:
        return len(self.out)


def swaps_of(problem: Problem, given: Sequence[Floats], at: int, most_out: Ints) -> Swaps:
    """Every exchange of some casks of a release, whatever it breaks.

    Parameters
    ----------
    problem, given
        The plan.
    at
        The release.
    most_out
        Columns of it that may go.
    """
    block = problem.blocks[at]
    users = np.zeros(problem.n_casks, dtype=np.intp)
    user = np.full(problem.n_casks, -1, dtype=np.intp)
    for which, (other, part) in enumerate(zip(problem.blocks, given, strict=True)):
        used = other.casks[part > 0.0]
        users[used] += 1
        user[used] = which
    leaving = most_out[(given[at][most_out] > 0.0) & (users[block.casks[most_out]] == 1)]
    leaving = leaving[~block.model.forced[leaving]]
    coming = np.flatnonzero((users[block.casks] <= 1) & (given[at] <= 0.0))
    out, into = (each.ravel() for each in np.meshgrid(leaving, coming, indexing="ij"))
    fraction, fits = _same_alcohol(block, given[at], out, into)
    other = user[block.casks[into]]
    back, gone = np.full(len(out), -1, dtype=np.intp), np.full(len(out), -1, dtype=np.intp)
    back_fraction = np.zeros(len(out))
    for which, there in enumerate(problem.blocks):
        mine = np.flatnonzero(other == which)
        if not len(mine):
            continue
        column = np.full(problem.n_casks, -1, dtype=np.intp)
        column[there.casks] = np.arange(there.model.n)
        back[mine], gone[mine] = column[block.casks[out[mine]]], column[block.casks[into[mine]]]
        possible = back[mine] >= 0
        possible[possible] &= ~there.model.forced[gone[mine][possible]]
        some = mine[possible]
        fits[mine[~possible]] = False
        back_fraction[some], well = _same_alcohol(there, given[which], gone[some], back[some])
        fits[some] &= well
    return Swaps(out, into, fraction, other, back, back_fraction, gone).only(fits)


def _same_alcohol(block: Block, given: Floats, out: Ints, into: Ints) -> tuple[Floats, Flags]:
    """What a cask gives in place of another, and whether it may give so much."""
    model = block.model
    if model.whole:
        return np.ones(len(out)), np.ones(len(out), dtype=np.bool_)
    fraction = given[out] * model.lpa[out] / model.lpa[into]
    fits = (fraction >= model.low[into] - _HAIR) & (fraction <= model.high[into] + _HAIR)
    return np.clip(fraction, model.low[into], model.high[into]), fits


def kept_by(
    problem: Problem, given: Sequence[Floats], at: int, swaps: Swaps, worst: Sequence[float]
) -> Flags:
    """Which exchanges keep every limit and leave no release farther out than it was.

    `worst` are by release the most weighted points that it may lie outside its band.
    """
    kept = _block_keeps(
        problem.blocks[at], given[at], worst[at], swaps.out, swaps.into, swaps.fraction
    )
    for which in np.unique(swaps.other[swaps.other >= 0]):
        mine = np.flatnonzero((swaps.other == which) & kept)
        some = swaps.only(mine)
        kept[mine] = _block_keeps(
            *(problem.blocks[which], given[which], worst[which]),
            *(some.gone, some.back, some.back_fraction),
        )
    for row in problem.house:
        if not np.isfinite(row.limit):
            continue
        more = _litres(row.litres[at], given[at], swaps.out, swaps.into, swaps.fraction)
        for which in np.unique(swaps.other[swaps.other >= 0]):
            mine = np.flatnonzero(swaps.other == which)
            some = swaps.only(mine)
            more[mine] += _litres(
                row.litres[which], given[which], some.gone, some.back, some.back_fraction
            )
        kept &= row.taken(list(given)) + more <= max(row.limit, row.taken(list(given))) + _KEPT
    return kept


def _litres(
    litres: Floats | None, given: Floats, out: Ints, into: Ints, fraction: Floats
) -> Floats:
    if litres is None:
        return np.zeros(len(out))
    more: Floats = litres[into] * fraction - litres[out] * given[out]
    return more


def _block_keeps(
    block: Block, given: Floats, worst: float, out: Ints, into: Ints, fraction: Floats
) -> Flags:
    model, used = block.model, (given > 0.0).astype(np.float64)
    hard = model.hard @ given - model.hard_limit
    limit = np.maximum(hard, 0.0) + _KEPT
    after = hard[:, None] + model.hard[:, into] * fraction - model.hard[:, out] * given[out]
    kept: Flags = np.all(after <= limit[:, None], axis=0)
    count = model.count @ used - model.count_limit
    after = count[:, None] + model.count[:, into] - model.count[:, out]
    kept &= np.all(after <= np.maximum(count, 0.0)[:, None] + _KEPT, axis=0)
    soft = (model.soft @ given)[:, None]
    after = soft + model.soft[:, into] * fraction - model.soft[:, out] * given[out]
    points = model.soft_weight @ np.maximum(after, 0.0)
    kept &= points <= worst + _KEPT
    return kept

"""How sure each release is, and all of them together: shared errors drawn once for all years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..array_types import Floats, Ints
from ..house_line import on_the_line
from ..vatting.chance import Expectation, Stream, chance_within_lines, expectation_of, own_roots
from ..vatting.mixing import how_mixed
from ..vatting.stock import Stock
from ..vatting.task import Task
from .blocks import Block

_WORK = 2_000_000
_FEWEST, _MOST = 1000, 4000


@dataclass(frozen=True, eq=False)
class Vatting:
    """What a release gets: rows of the stock of its day and litres of each."""

    task: Task
    rows: Ints
    litres: Floats


def vatting_of(block: Block, given: Floats) -> Vatting:
    """What a release gets by the fractions of its casks."""
    used = np.flatnonzero(given > 0.0)
    return Vatting(block.task, block.casks[used], block.model.litres[used] * given[used])


@dataclass(frozen=True)
class Chances:
    """What is expected of each vatting, and the chance that all are right at once.

    Attributes
    ----------
    each
        In the order of the vattings.
    joint, joint_se
        Chance that every line of every vatting is within tolerance, and its standard error by
        simulation alone; None where there is no vatting.
    draws
        How many futures they come from.
    """

    each: tuple[Expectation, ...]
    joint: float | None
    joint_se: float | None
    draws: int


def reckon(
    vattings: Sequence[Vatting], *, draws: int | None = None, stream: Stream = Stream.TOLD
) -> Chances:
    """Simulate all vattings at once.

    Parameters
    ----------
    vattings
        At least one cask in each.
    draws, stream
        How many simulated futures (by default by the number of draws on casks), and whether they
        choose or are told.

    Notes
    -----
    In each simulated future the errors that casks share, the panel's and those of the exponents
    of mixing are drawn once for all days, and each cask's own error once: a cask that goes into
    two releases is off in both. What the rule of mixing is off by itself is each vatting's own.
    """
    parts = sum(len(each.rows) for each in vattings)
    future = Future(draws or int(np.clip(_WORK // max(parts, 1), _FEWEST, _MOST)), stream)
    together, told = np.ones(future.draws), []
    for vatting in vattings:
        expectation, inside = _one(vatting, future)
        told.append(expectation)
        together *= inside
    if not told:
        return Chances((), None, None, future.draws)
    se = float(together.std(ddof=1) / np.sqrt(future.draws))
    return Chances(tuple(told), float(together.mean()), se, future.draws)


def _one(vatting: Vatting, future: Future) -> tuple[Expectation, Floats]:
    """What is expected, and in each future the chance that all its lines are right."""
    task, rows, litres = vatting.task, vatting.rows, vatting.litres
    order = np.argsort(rows)
    rows, litres = rows[order], litres[order]
    lpa = litres * task.stock.abv_percent[rows]
    shares = lpa / lpa.sum()
    columns = task.stock.columns_of(task.descriptors)
    amounts = future.amounts(task, rows, shares, columns)
    shared = future.shared(task, rows, shares, columns)
    scores = task.amounts.score(amounts, how_mixed(shares)) + shared
    rule_sd = task.rule.sd_of(task.descriptors, shares)
    inside = chance_within_lines(task, scores, rule_sd)
    common = task.common_sd(rows, shares)
    return expectation_of(task, rows, shares, amounts, common, inside), inside.prod(axis=1)


class Future:
    """Random numbers of so many futures, the same for whatever asks again."""

    def __init__(self, draws: int, stream: Stream) -> None:
        self.draws, self.stream = draws, stream
        self._drawn: dict[tuple[int, ...], Floats] = {}

    def _normals(self, what: int, *shape: int) -> Floats:
        key = (what, *shape)
        if key not in self._drawn:
            rng = np.random.default_rng([self.stream, what])
            self._drawn[key] = rng.standard_normal((self.draws, *shape))
        return self._drawn[key]

    def panel(self, stock: Stock) -> Floats:
        """What the panel is off, in standard deviations (draws, notes)."""
        return self._normals(3, len(stock.descriptors))

    def exponents(self, stock: Stock) -> Floats:
        """The same of the exponents of mixing."""
        return self._normals(4, len(stock.descriptors))

    def shared(self, task: Task, rows: Ints, shares: Floats, columns: Ints) -> Floats:
        """What panel and exponents are off in a vatting, points (draws, lines)."""
        off: Floats = self.panel(task.stock)[:, columns] * task.panel_sd
        off += self.exponents(task.stock)[:, columns] * task.exponents_sd(rows, shares)
        return off

    def amounts(self, task: Task, rows: Ints, shares: Floats, columns: Ints) -> Floats:
        """Amounts of a vatting before what panel and rule are off, shape (draws, lines)."""
        stock, exponent = task.stock, task.amounts.exponent
        if stock.draws is not None:
            joint = stock.draws[self.stream % 2 :: 2]
            taken = np.resize(np.arange(len(joint)), self.draws)
            parts = on_the_line(joint[:, rows][:, :, columns]) ** (1.0 / exponent)
            mixed: Floats = np.einsum("skd,k->sd", parts, shares)[taken]
            return mixed
        total = np.zeros((self.draws, len(columns)))
        roots = own_roots(stock, rows)[:, :, columns]
        estimate = stock.estimate[np.ix_(rows, columns)].astype(np.float32)
        for k, row in enumerate(rows):
            scores = np.broadcast_to(estimate[k], (self.draws, len(columns))).copy()
            if roots[k].any():
                scores += self._own(int(row), len(stock.descriptors)) @ roots[k]
            self._add_shared(scores, stock, int(row), columns)
            np.clip(scores, 0.0, 100.0, out=scores)
            for line in np.flatnonzero(exponent != 1.0):
                scores[:, line] **= 1.0 / exponent[line]
            total += scores * shares[k]
        return total

    def _own(self, row: int, notes: int) -> NDArray[np.float32]:
        rng = np.random.default_rng([self.stream, 5, row])
        return rng.standard_normal((self.draws, notes), dtype=np.float32)

    def _add_shared(
        self, scores: NDArray[np.float32], stock: Stock, row: int, columns: Ints
    ) -> None:
        if stock.loadings is not None and stock.loadings[row].any():
            sources = self._normals(1, stock.loadings.shape[2])
            scores += (sources @ stock.loadings[row, columns].T).astype(np.float32)
        if stock.note_loadings is not None and stock.note_loadings[row].any():
            sources = self._normals(2, *stock.note_loadings.shape[1:])[:, columns]
            shared = np.einsum("sdr,dr->sd", sources, stock.note_loadings[row, columns])
            scores += shared.astype(np.float32)

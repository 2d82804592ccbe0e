"""The linear problem over every cask and every release at once, from its inside to its edge.

An interior-point method (predictor and corrector of Mehrotra 1992, normal equations). The rows
that say that each cask is given once touch each column once, so they are eliminated in closed
form; what is left to factor has some hundred rows, however many casks there are. A release's rows
are spanned by few (a band's two sides differ by a multiple of the quantity), so that one product
of a small and wide matrix a step does the work.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import scipy.linalg

from ..array_types import Floats, Ints
from ..under_way import go_on
from .blocks import Problem
from .dual import Dual
from .until import Until

_STEPS = 120
_BACK_OFF = 0.9995
_RANK = 1e-10
_CLOSE = 0.05
_CLOSE_SHARE = 0.01
_MISSED = 1e-6
_THROWN = 1e3
_FIRST_PRICE = 0.003
_FIRST_GIVEN = 0.8
_FIRST_SLACK = 0.1
_BENDS = 1
_FIRST_ROW = 0.3
_FIRST_SOFT = 0.05
_BUNCH = 1024
"""Casks whose part of the small and wide matrix is multiplied at once."""


_Way = tuple[Floats, Floats, Floats, Floats]
"""Variables, prices of rows and of casks, and what each variable costs beyond them."""


@dataclass(frozen=True, eq=False)
class Inside:
    """Where the method ended.

    Attributes
    ----------
    given
        By block, the fraction of each of its casks.
    prices, bound
        Prices of the rows, and what no plan goes below by them.
    """

    given: list[Floats]
    prices: Floats
    bound: float


@dataclass(frozen=True, eq=False)
class _Bunch:
    """Casks `start` to `start + width`, and what of the small and wide matrix they have.

    `rows` are those of the spans that any of them has a column in, then those of the house;
    `parts` give by block the pairs, which cask of the bunch each is of, and the span's columns.
    """

    start: int
    width: int
    rows: Ints
    parts: list[tuple[int, Ints, Ints, Floats]]


def _renumbered(problem: Problem) -> list[Ints]:
    """The casks of each block, numbered so that those of the same blocks lie side by side."""
    blocks = np.zeros((len(problem.blocks), problem.n_casks), dtype=np.bool_)
    for at, block in enumerate(problem.blocks):
        blocks[at, block.casks] = True
    order = np.lexsort((*blocks, -blocks.sum(axis=0)))
    place = np.empty(problem.n_casks, dtype=np.intp)
    place[order] = np.arange(problem.n_casks)
    return [place[block.casks] for block in problem.blocks]


class Interior:
    """The problem in standard form, ``A z = b, z >= 0``, without ever forming A.

    The variables are, in this order: what each cask gives to each release, what is left of each
    cask, the slack of each row, by how much a line lies outside its band, and the share of each
    release that is not made.
    """

    def __init__(self, dual: Dual, nudge: float = 0.0, seed: int = 1) -> None:
        self.dual = dual
        problem = dual.problem
        self.n, self.width = problem.n_casks, dual.width
        self.casks: list[Ints] = _renumbered(problem)
        self.at = np.concatenate(self.casks) if self.casks else np.empty(0, dtype=np.intp)
        ends = np.cumsum([0, *(len(some) for some in self.casks)])
        self.pairs = [slice(int(a), int(b)) for a, b in pairwise(ends)]
        self.n_pairs = int(ends[-1])
        self._span()
        self.bunches = self._bunched()
        self.soft = np.concatenate(
            [
                part.start + np.arange(len(block.model.soft))
                for part, block in zip(dual.parts, problem.blocks, strict=True)
            ]
        ).astype(np.intp)
        cost = [block.model.cost + block.model.cask_cost for block in problem.blocks]
        given = np.concatenate(cost)
        if nudge > 0.0:
            given = given + nudge * np.random.default_rng(seed).random(self.n_pairs)
        weights = np.concatenate([block.model.soft_weight for block in problem.blocks])
        unmade = np.array([block.short_cost for block in problem.blocks])
        ends = np.cumsum([self.n_pairs, self.n, self.width, len(self.soft), len(unmade)])
        starts = [0, *ends[:-1]]
        self.x, self.left, self.slack, self.over, self.unmade = (
            slice(int(a), int(b)) for a, b in zip(starts, ends, strict=True)
        )
        self.size = int(ends[-1])
        self.cost = np.zeros(self.size)
        self.cost[self.x], self.cost[self.over], self.cost[self.unmade] = given, weights, unmade

    def _span(self) -> None:
        """Few rows that span those of each block, and those of the house as they are."""
        dual = self.dual
        self.mix, self.basis = [], []
        for rows in dual.rows:
            values, vectors = np.linalg.eigh(rows.matrix @ rows.matrix.T)
            kept = vectors[:, values > _RANK * max(float(values[-1]), 1e-300)]
            self.mix.append(kept)
            self.basis.append(kept.T @ rows.matrix)
        ends = np.cumsum([0, *(len(basis) for basis in self.basis)])
        self.spans = [slice(int(a), int(b)) for a, b in pairwise(ends)]
        self.n_span = int(ends[-1])
        largest = [
            max(float(part.max(initial=0.0)) for part in row.litres if part is not None)
            for row in dual.house
        ]
        self.unit = np.maximum(np.array(largest), 1e-9)
        self.house = [
            [None if part is None else part / unit for part in row.litres]
            for row, unit in zip(dual.house, self.unit, strict=True)
        ]
        self.limit = dual.limit.copy()
        self.limit[dual.n_rows :] /= self.unit

    def _bunched(self) -> list[_Bunch]:
        """Casks side by side, each bunch with the blocks that any of them may go to."""
        found = []
        for start in range(0, self.n, _BUNCH):
            rows, parts = [], []
            for at, (casks, pair, span) in enumerate(
                zip(self.casks, self.pairs, self.spans, strict=True)
            ):
                here = np.flatnonzero((casks >= start) & (casks < start + _BUNCH))
                if len(here):
                    rows.append(np.arange(span.start, span.stop))
                    basis = np.ascontiguousarray(self.basis[at][:, here])
                    parts.append((at, pair.start + here, casks[here] - start, basis))
            if parts:
                rows.append(np.arange(self.n_span, self.n_span + len(self.house)))
                width = min(_BUNCH, self.n - start)
                found.append(_Bunch(start, width, np.concatenate(rows).astype(np.intp), parts))
        return found

    def rows_of(self, z: Floats) -> Floats:
        """The row sums of some variables: rows of the blocks and of the house."""
        dual, total = self.dual, z[self.slack].copy()
        x = z[self.x]
        for part, pair, mix, basis in zip(
            dual.parts, self.pairs, self.mix, self.basis, strict=True
        ):
            total[part] += mix @ (basis @ x[pair])
        for which, row in enumerate(self.house):
            for pair, litres in zip(self.pairs, row, strict=True):
                if litres is not None:
                    total[dual.n_rows + which] += litres @ x[pair]
        total[self.soft] -= z[self.over]
        for part, rows, unmade in zip(dual.parts, dual.rows, z[self.unmade], strict=True):
            total[part] -= rows.short * unmade
        return total

    def casks_of(self, z: Floats) -> Floats:
        """What is given of each cask, and what is left."""
        found: Floats = np.bincount(self.at, z[self.x], self.n) + z[self.left]
        return found

    def columns_of(self, rows: Floats, casks: Floats) -> Floats:
        """The columns' sums at some prices of rows and casks."""
        dual, found = self.dual, np.empty(self.size)
        x = casks[self.at]
        for at, (part, pair) in enumerate(zip(dual.parts, self.pairs, strict=True)):
            x[pair] += (rows[part] @ self.mix[at]) @ self.basis[at]
            for price, row in zip(rows[dual.n_rows :], self.house, strict=True):
                litres = row[at]
                if litres is not None:
                    x[pair] += price * litres
        found[self.x], found[self.left], found[self.slack] = x, casks, rows
        found[self.over] = -rows[self.soft]
        found[self.unmade] = [
            -float(short.short @ rows[part])
            for part, short in zip(dual.parts, dual.rows, strict=True)
        ]
        return found

    def start(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Variables inside, prices halfway, and what each variable would cost.

        Every release takes of all its casks alike, as much as it needs if there is enough.
        """
        z = np.empty(self.size)
        x = np.empty(self.n_pairs)
        for pair, rows in zip(self.pairs, self.dual.rows, strict=True):
            needed = rows.short > 0.0
            gives = -(rows.matrix[needed].sum(axis=1) / rows.short[needed]).min(initial=-1.0)
            x[pair] = 1.0 / max(gives, 1.0)
        most = float(np.bincount(self.at, x, self.n).max(initial=0.0))
        z[self.x] = x * min(1.0, _FIRST_GIVEN / max(most, 1e-9))
        z[self.left] = 1.0 - np.bincount(self.at, z[self.x], self.n)
        z[self.slack], z[self.over], z[self.unmade] = 0.0, 0.0, 0.0
        lacking = self.limit - self.rows_of(z)
        z[self.unmade] = 0.01
        z[self.slack] = np.maximum(lacking, 0.0) + _FIRST_SLACK
        z[self.over] = np.maximum(-lacking[self.soft], 0.0) + _FIRST_SLACK
        first = np.full(self.width, -_FIRST_ROW)
        first[self.soft] = -_FIRST_SOFT * self.cost[self.over]
        costs = self.cost - self.columns_of(first, np.zeros(self.n))
        least = np.zeros(self.n)
        np.minimum.at(least, self.at, costs[self.x])
        casks = least - _FIRST_PRICE
        dear = self.cost - self.columns_of(first, casks)
        dear[self.unmade] = np.maximum(dear[self.unmade], 1.0)
        return z, first, casks, np.maximum(dear, 1e-4)

    def factor(self, theta: Floats) -> _Factor:
        """The normal equations at some weights of the variables."""
        return _Factor(self, theta)


class _Factor:
    """Normal equations with the casks' rows eliminated."""

    def __init__(self, inside: Interior, theta: Floats) -> None:
        self.inside, self.theta = inside, theta
        dual = inside.dual
        x = theta[inside.x]
        self.casks = np.bincount(inside.at, x, inside.n) + theta[inside.left]
        n_inner = inside.n_span + len(inside.house)
        inner = np.zeros((n_inner, n_inner))
        for at, (span, pair) in enumerate(zip(inside.spans, inside.pairs, strict=True)):
            part = inside.basis[at] * x[pair]
            inner[span, span] = part @ inside.basis[at].T
            self._house(inside, at, x[pair], part, inner)
        root = np.sqrt(self.casks)
        for bunch in inside.bunches:
            wide = self._wide(inside, bunch, x) / root[bunch.start : bunch.start + bunch.width]
            inner[np.ix_(bunch.rows, bunch.rows)] -= wide @ wide.T
        full = self._mixed(inside, inner)
        diagonal = theta[inside.slack].copy()
        diagonal[inside.soft] += theta[inside.over]
        full[np.diag_indices(inside.width)] += diagonal
        for block, rows, unmade in zip(dual.parts, dual.rows, theta[inside.unmade], strict=True):
            full[block, block] += unmade * np.outer(rows.short, rows.short)
        size = np.sqrt(np.diagonal(full))
        self.size = np.where(size > 0.0, size, 1.0)
        scaled = full / self.size / self.size[:, None]
        scaled[np.diag_indices(inside.width)] += 1e-13
        self.root = self._root(scaled)

    @staticmethod
    def _house(inside: Interior, at: int, x: Floats, part: Floats, inner: Floats) -> None:
        for which, row in enumerate(inside.house):
            litres = row[at]
            if litres is None:
                continue
            here = inside.n_span + which
            inner[here, inside.spans[at]] = part @ litres
            inner[inside.spans[at], here] = inner[here, inside.spans[at]]
            for other, beside in enumerate(inside.house):
                both = beside[at]
                if both is not None:
                    inner[here, inside.n_span + other] += float((litres * both) @ x)

    @staticmethod
    def _wide(inside: Interior, bunch: _Bunch, x: Floats) -> Floats:
        """What the rows of a bunch have of each of its casks."""
        wide, down = np.zeros((len(bunch.rows), bunch.width)), 0
        house = len(bunch.rows) - len(inside.house)
        for at, pairs, casks, basis in bunch.parts:
            wide[down : down + len(basis), casks] = basis * x[pairs]
            down += len(basis)
            first = inside.pairs[at].start
            for which, row in enumerate(inside.house):
                litres = row[at]
                if litres is not None:
                    wide[house + which, casks] += litres[pairs - first] * x[pairs]
        return wide

    @staticmethod
    def _mixed(inside: Interior, inner: Floats) -> Floats:
        """The spans' matrix as one of all rows."""
        dual, n_rows = inside.dual, inside.dual.n_rows
        half = np.empty((inside.width, len(inner)))
        half[n_rows:] = inner[inside.n_span :]
        for part, span, mix in zip(dual.parts, inside.spans, inside.mix, strict=True):
            half[part] = mix @ inner[span]
        full = np.empty((inside.width, inside.width))
        full[:, n_rows:] = half[:, inside.n_span :]
        for part, span, mix in zip(dual.parts, inside.spans, inside.mix, strict=True):
            full[:, part] = half[:, span] @ mix.T
        return full

    @staticmethod
    def _root(scaled: Floats) -> Floats:
        added = 0.0
        for _ in range(8):
            try:
                root: Floats = scipy.linalg.cholesky(
                    scaled + added * np.eye(len(scaled)), lower=True, check_finite=False
                )
            except np.linalg.LinAlgError:
                added = max(10.0 * added, 1e-11)
            else:
                return root
        raise FloatingPointError

    def solve(self, rows: Floats, casks: Floats) -> tuple[Floats, Floats]:
        """Prices of rows and casks for some right sides, made good once by what is left over."""
        found = self._once(rows, casks)
        row_sums, cask_sums = self._sums(*found)
        more = self._once(rows - row_sums, casks - cask_sums)
        return found[0] + more[0], found[1] + more[1]

    def _sums(self, rows: Floats, casks: Floats) -> tuple[Floats, Floats]:
        weighed = self.theta * self.inside.columns_of(rows, casks)
        return self.inside.rows_of(weighed), self.inside.casks_of(weighed)

    def _once(self, rows: Floats, casks: Floats) -> tuple[Floats, Floats]:
        inside = self.inside
        right = rows - self._across(casks / self.casks)
        half = scipy.linalg.solve_triangular(
            self.root, right / self.size, lower=True, check_finite=False
        )
        prices = (
            scipy.linalg.solve_triangular(self.root.T, half, lower=False, check_finite=False)
            / self.size
        )
        weighed = self.theta[inside.x] * inside.columns_of(prices, np.zeros(inside.n))[inside.x]
        of_casks = (casks - np.bincount(inside.at, weighed, inside.n)) / self.casks
        return prices, of_casks

    def _across(self, casks: Floats) -> Floats:
        """What prices of casks add to the rows."""
        inside = self.inside
        z = np.zeros(inside.size)
        z[inside.x] = self.theta[inside.x] * casks[inside.at]
        return inside.rows_of(z)


def solve_inside(
    dual: Dual, until: Until, *, nudge: float = 0.0, close: float | None = None
) -> Inside:
    """Solve the linear problem.

    Parameters
    ----------
    dual
        The problem.
    until
        The outer limit; where it has got by then is told.
    nudge
        Points up to which each way of a cask is made dearer by chance, so that of many answers as
        good one is picked in which few casks are shared. The bound holds for the true costs.
    close
        Points between plan and bound at which it ends; a hundredth of the bound by default.
    """
    inside = Interior(dual, nudge)
    z, rows, casks, dear = inside.start()
    best_prices, best_bound = np.zeros(dual.width), -np.inf
    for _ in range(_STEPS):
        go_on()
        if until.over():
            break
        with np.errstate(all="ignore"):  # a step that leads nowhere is thrown away
            moved = _step(inside, z, rows, casks, dear)
        if moved is None or not _leads(moved, float(z @ dear)):
            break
        z, rows, casks, dear = moved
        prices = _prices(inside, rows)
        bound = dual.bound(prices)
        if bound > best_bound:
            best_prices, best_bound = prices, bound
        enough = max(_CLOSE, _CLOSE_SHARE * abs(best_bound)) if close is None else close
        if float(z @ dear) < enough and _missed(inside, z) < _MISSED:
            break
    given = [np.clip(z[inside.x][pair], 0.0, 1.0) for pair in inside.pairs]
    return Inside(given, best_prices, best_bound)


def _leads(moved: _Way, gap: float) -> bool:
    """Whether a step led anywhere: near the end rounding may throw it far out."""
    z, _, _, dear = moved
    with np.errstate(all="ignore"):
        now = float(z @ dear)
    return bool(np.isfinite(now) and now < _THROWN * max(gap, 1.0))


def _missed(inside: Interior, z: Floats) -> float:
    return float(np.abs(inside.limit - inside.rows_of(z)).max(initial=0.0))


def _prices(inside: Interior, rows: Floats) -> Floats:
    prices = -rows.copy()
    prices[inside.dual.n_rows :] /= inside.unit
    return inside.dual.in_range(prices)


def _step(inside: Interior, z: Floats, rows: Floats, casks: Floats, dear: Floats) -> _Way | None:
    """One step: where the straight way leads, then the same bent towards the middle."""
    try:
        factor = inside.factor(z / dear)
    except FloatingPointError:
        return None
    off_rows = inside.limit - inside.rows_of(z)
    off_casks = 1.0 - inside.casks_of(z)
    off_dear = inside.cost - inside.columns_of(rows, casks) - dear
    middle = float(z @ dear) / inside.size

    def towards(product: Floats, share: float) -> _Way:
        """The way on which products of variables and their costs change by `product`."""
        eased = factor.theta * (share * off_dear) - product / dear
        d_rows, d_casks = factor.solve(
            share * off_rows + inside.rows_of(eased), share * off_casks + inside.casks_of(eased)
        )
        d_dear = share * off_dear - inside.columns_of(d_rows, d_casks)
        return (product - z * d_dear) / dear, d_rows, d_casks, d_dear

    d_z, _, _, d_dear = towards(-z * dear, 1.0)
    ahead = float((z + _most(z, d_z) * d_z) @ (dear + _most(dear, d_dear) * d_dear)) / inside.size
    aim = middle * max((ahead / middle) ** 3, 1e-6)
    way = towards(aim - z * dear - d_z * d_dear, 1.0)
    far, back = _most(z, way[0]), _most(dear, way[3])
    for _ in range(_BENDS):
        to, by = min(1.0, 1.08 * far + 0.08), min(1.0, 1.08 * back + 0.08)
        there = (z + to * way[0]) * (dear + by * way[3])
        lack = np.clip(there, 0.1 * aim, 10.0 * aim) - there
        more = towards(np.maximum(lack, -10.0 * aim), 0.0)
        bent = way[0] + more[0], way[1] + more[1], way[2] + more[2], way[3] + more[3]
        new_far, new_back = _most(z, bent[0]), _most(dear, bent[3])
        if new_far + new_back < far + back + 0.01:
            break
        way, far, back = bent, new_far, new_back
    if not np.isfinite(way[0]).all():
        return None
    far, back = min(1.0, _BACK_OFF * far), min(1.0, _BACK_OFF * back)
    return z + far * way[0], rows + back * way[1], casks + back * way[2], dear + back * way[3]


def _most(at: Floats, step: Floats) -> float:
    """How far a step may go until something is used up; 1 for all of it."""
    falling = step < 0.0
    return float(min(1.0, (-at[falling] / step[falling]).min(initial=np.inf) * 1.0))

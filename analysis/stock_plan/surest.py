"""Of plans with as few points the surest: casks exchanged while the chance of all rises.

Many plans miss the bands by as little and are not equally sure; the search for the fewest points
takes any of them. The chance that counts here is that of all releases together, by draws whose
shared errors are drawn once for all years; what is told afterwards comes from other draws.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..array_types import Floats
from ..under_way import go_on
from ..vatting.chance import Stream, chance_within_lines
from ..vatting.mixing import how_mixed
from ..vatting.mixture import pour_fills
from .blocks import Problem
from .chances import Future, reckon, vatting_of
from .swaps import Swaps, kept_by, swaps_of

_DRAWS = 600
_CHECKED = 4000
_OUT = 30
_RANKED = 600
_TRIED = 32
_VISITS = 120
_WORK = 1.5e7
"""Chances of a line that are reckoned in all, a draw each."""
_SELDOM = 0.01
"""Of releases that are together right less often than this the single chances count: of so few
futures the draws that chose would be the best of their luck."""
_RISES = 1e-5
_FLAT = 1e-9
_STEP = 0.1
_LEAST = 1e-12


def surest(
    problem: Problem,
    given: list[Floats],
    only: frozenset[int] | None = None,
    *,
    counted: Sequence[int] | None = None,
    work_share: float = 1.0,
) -> list[Floats]:
    """Exchange casks between releases, and for free ones, while all together grow surer.

    Parameters
    ----------
    problem
        Blocks and house rows.
    given
        A plan, by block.
    only
        Blocks that may exchange anything, after a change of a plan; all by default.
    counted
        Blocks whose chances count; all by default.
    work_share
        Of the work of a whole plan, how much may be done.

    Returns
    -------
    list of array
        A plan in which no release lies farther outside its band, lacks more or breaks a limit; the
        one that was given where none was found surer. It hangs on counts of work alone.
    """
    judged = judged_of(problem, given, counted)
    may = [at for at in judged if only is None or at in only]
    if not may:
        return given
    search = _Search(problem, [part.copy() for part in given], judged, may)
    search.most_work = work_share * _WORK
    if only is not None:
        search.partners = [-1, *sorted(only)]
    search.run()
    if not search.moved:
        return given
    before, after = (chance_of_all(problem, plan, judged) for plan in (given, search.given))
    return search.given if after > before else given


def judged_of(
    problem: Problem, given: Sequence[Floats], counted: Sequence[int] | None
) -> list[int]:
    """Blocks whose chances count: those that get casks and have notes, of those named."""
    return [
        at
        for at, (block, part) in enumerate(zip(problem.blocks, given, strict=True))
        if not block.litres_only and np.any(part > 0.0) and (counted is None or at in counted)
    ]


def chance_that_chooses(problem: Problem, part: Floats, at: int) -> float:
    """How sure one release is with some casks, by the draws that choose; more is surer."""
    given = [np.zeros(block.model.n) for block in problem.blocks]
    given[at] = part
    return chance_of_all(problem, given, [at])


def chance_of_all(problem: Problem, given: Sequence[Floats], counted: Sequence[int]) -> float:
    """What is to rise of the releases that are counted, by the draws that choose."""
    found = reckon(
        [vatting_of(problem.blocks[at], given[at]) for at in counted],
        draws=_CHECKED if sum(np.count_nonzero(given[at]) for at in counted) < _DRAWS else _DRAWS,
        stream=Stream.CHOOSING,
    )
    return _worth(found.joint or 0.0, [each.probability for each in found.each])


def _worth(joint: float, each: Sequence[float]) -> float:
    """What is to rise: the chance of all, or, where that is next to nothing, the single ones."""
    if joint >= _SELDOM:
        return joint
    return float(np.log(np.maximum(each, _LEAST)).sum())


def _all_but_one(chances: Floats) -> Floats:
    """By column the product of all the others."""
    found = np.ones_like(chances)
    found[:, 1:] *= np.cumprod(chances[:, :-1], axis=1)
    found[:, :-1] *= np.cumprod(chances[:, :0:-1], axis=1)[:, ::-1]
    return found


@dataclass(eq=False)
class _Side:
    """One release as it stands: what is mixed in each future, and how sure that makes it.

    Attributes
    ----------
    total, lpa
        Amounts of its casks times their pure alcohol (draws, lines), and the alcohol.
    shared, rule_sd, mixed
        What panel and exponents are off in each future, what the rule may be, how far it is mixed.
    lines, inside
        Chance of each line in each future, and of all.
    """

    total: Floats
    lpa: float
    shared: Floats
    rule_sd: Floats
    mixed: float
    lines: Floats
    inside: Floats


class _Search:
    def __init__(
        self, problem: Problem, given: list[Floats], counted: list[int], may: list[int]
    ) -> None:
        self.problem, self.given, self.counted, self.may = problem, given, counted, may
        self.partners: Sequence[int] = range(-1, len(given))
        self.future = Future(_DRAWS, Stream.CHOOSING)
        self.work, self.most_work, self.moved = 0.0, _WORK, False
        self.alone: dict[tuple[int, int], Floats] = {}
        self.slopes: dict[int, Floats] = {}
        self.worst = [
            float(block.model.soft_weight @ block.model.outside(part))
            for block, part in zip(problem.blocks, given, strict=True)
        ]
        self.sides = {at: self._side(at) for at in counted}

    def run(self) -> None:
        """Go round the releases until no exchange of any helps."""
        waiting = sorted(self.may, key=lambda at: float(self.sides[at].inside.mean()))
        tried = 0
        for visit in range(_VISITS):
            at = waiting[visit % len(waiting)]
            go_on()
            tried = 0 if self._exchange(at) else tried + 1
            if tried >= len(waiting) or self.work > self.most_work:
                return

    def _amounts(self, at: int, column: int) -> Floats:
        """One cask's amounts in each future, with the errors that it shares."""
        key = (at, column)
        if key not in self.alone:
            block = self.problem.blocks[at]
            columns = block.task.stock.columns_of(block.task.descriptors)
            row = block.casks[[column]]
            self.alone[key] = self.future.amounts(block.task, row, np.ones(1), columns)
        return self.alone[key]

    def _side(self, at: int) -> _Side:
        block = self.problem.blocks[at]
        used = np.flatnonzero(self.given[at] > 0.0)
        rows, lpa = block.casks[used], self.given[at][used] * block.model.lpa[used]
        task, shares = block.task, lpa / lpa.sum()
        columns = task.stock.columns_of(task.descriptors)
        total = self.future.amounts(task, rows, shares, columns) * lpa.sum()
        shared = self.future.shared(task, rows, shares, columns)
        rule_sd = task.rule.sd_of(task.descriptors, shares)
        side = _Side(total, float(lpa.sum()), shared, rule_sd, how_mixed(shares), shared, shared)
        side.lines = self._lines(at, side, total / side.lpa)
        side.inside = side.lines.prod(axis=1)
        return side

    def _lines(self, at: int, side: _Side, amounts: Floats) -> Floats:
        task = self.problem.blocks[at].task
        self.work += amounts.size
        scores = task.amounts.score(amounts, side.mixed) + side.shared
        return chance_within_lines(task, scores, side.rule_sd)

    def _others(self, *without: int) -> Floats:
        """In each future the chance that all other releases are right."""
        found = np.ones(_DRAWS)
        for at in self.counted:
            if at not in without:
                found = found * self.sides[at].inside
        return found

    def _slopes(self, at: int) -> Floats:
        """By line, how what counts rises with the amount that is mixed.

        Kept until the release itself is another: it only says which exchanges are tried first.
        """
        if at not in self.slopes:
            self.slopes[at] = self._slopes_now(at)
        return self.slopes[at]

    def _slopes_now(self, at: int) -> Floats:
        side, task = self.sides[at], self.problem.blocks[at].task
        amounts = side.total / side.lpa
        step = _STEP * (
            task.amounts.amount(task.aim + task.tolerance)
            - task.amounts.amount(np.maximum(task.aim - task.tolerance, 0.0))
        )
        up, down = (self._lines(at, side, amounts + sign * step) for sign in (1.0, -1.0))
        rest = _all_but_one(side.lines)
        others = self._others(at) if self._together() >= _SELDOM else np.ones(_DRAWS)
        slopes: Floats = (others[:, None] * rest * (up - down)).mean(axis=0) / (2.0 * step)
        level = 1.0 if self._together() >= _SELDOM else max(float(side.inside.mean()), _LEAST)
        return slopes / level

    def _together(self) -> float:
        return float(self._others().mean())

    def _exchange(self, at: int) -> bool:
        """Make the exchange of a release that helps most; False where none does."""
        side, block = self.sides[at], self.problem.blocks[at]
        slopes = self._slopes(at)
        if not np.any(np.abs(slopes) > _FLAT):
            return False
        mean = block.task.amounts.mean[block.casks]
        pull = (mean - (side.total / side.lpa).mean(axis=0)) @ slopes * block.model.lpa / side.lpa
        used = np.flatnonzero(self.given[at] > 0.0)
        leaving = used[np.argsort(pull[used] * self.given[at][used], kind="stable")[:_OUT]]
        swaps = swaps_of(self.problem, self.given, at, leaving.astype(np.intp))
        swaps = swaps.only(np.isin(swaps.other, self.partners))
        gain = pull[swaps.into] * swaps.fraction - pull[swaps.out] * self.given[at][swaps.out]
        for which in np.unique(swaps.other[swaps.other >= 0]):
            if which in self.sides:
                gain += self._gain_there(int(which), swaps)
        order = np.argsort(-gain, kind="stable")[:_RANKED]
        swaps = swaps.only(order)
        swaps = swaps.only(kept_by(self.problem, self.given, at, swaps, self.worst))
        return self._best_of(at, swaps.only(np.arange(min(len(swaps), _TRIED))))

    def _gain_there(self, which: int, swaps: Swaps) -> Floats:
        side, block = self.sides[which], self.problem.blocks[which]
        mine = np.flatnonzero(swaps.other == which)
        mean = block.task.amounts.mean[block.casks]
        middle = (side.total / side.lpa).mean(axis=0)
        pull = (mean - middle) @ self._slopes(which) * block.model.lpa / side.lpa
        found = np.zeros(len(swaps))
        back, gone = swaps.back[mine], swaps.gone[mine]
        found[mine] = pull[back] * swaps.back_fraction[mine] - pull[gone] * self.given[which][gone]
        return found

    def _best_of(self, at: int, swaps: Swaps) -> bool:
        now = self._value({})
        best, found = now + _RISES * max(1.0, abs(now)), None
        for which in range(len(swaps)):
            one = swaps.only(np.array([which]))
            inside = {at: self._after(at, int(one.out[0]), int(one.into[0]), one.fraction[0])}
            there = int(one.other[0])
            if there in self.sides:
                back = float(one.back_fraction[0])
                inside[there] = self._after(there, int(one.gone[0]), int(one.back[0]), back)
            value = self._value(inside)
            if value > best and self._fills(at, one):
                best, found = value, one
        if found is None:
            return False
        self._make(at, found)
        return True

    def _value(self, inside: dict[int, Floats]) -> float:
        joint = float((self._others(*inside) * np.prod([*inside.values()], axis=0)).mean())
        each = [float(inside.get(at, self.sides[at].inside).mean()) for at in self.counted]
        return _worth(joint, each) if self._together() >= _SELDOM else _worth(0.0, each)

    def _after(self, at: int, out: int, into: int, fraction: float) -> Floats:
        """In each future the chance of a release with one cask for another."""
        side, model = self.sides[at], self.problem.blocks[at].model
        gone, come = self.given[at][out] * model.lpa[out], fraction * model.lpa[into]
        total = side.total - gone * self._amounts(at, out) + come * self._amounts(at, into)
        amounts = total / (side.lpa - gone + come)
        inside: Floats = self._lines(at, side, amounts).prod(axis=1)
        return inside

    def _changed(self, at: int, one: Swaps) -> dict[int, Floats]:
        """By block, what the casks give after an exchange."""
        changed = {at: self.given[at].copy()}
        changed[at][one.out[0]], changed[at][one.into[0]] = 0.0, one.fraction[0]
        there = int(one.other[0])
        if there >= 0:
            changed[there] = self.given[there].copy()
            changed[there][one.gone[0]] = 0.0
            changed[there][one.back[0]] = one.back_fraction[0]
        return changed

    def _fills(self, at: int, one: Swaps) -> bool:
        """Whether each release surely comes to its bottles as it did before."""
        for which, part in self._changed(at, one).items():
            block = self.problem.blocks[which]
            before, after = vatting_of(block, self.given[which]), vatting_of(block, part)
            if pour_fills(block.task, before.rows, before.litres) and not pour_fills(
                block.task, after.rows, after.litres
            ):
                return False
        return True

    def _make(self, at: int, one: Swaps) -> None:
        for which, part in self._changed(at, one).items():
            self.given[which] = part
            if which in self.sides:
                self.sides[which] = self._side(which)
                self.slopes.pop(which, None)
        self.moved = True

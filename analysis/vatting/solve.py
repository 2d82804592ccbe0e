"""The best vatting for one band, with a bound that says how good it is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from time import perf_counter

import numpy as np

from ..array_types import Floats, Ints
from ..under_way import go_on
from .dive import Drawn, dive, exchange, keeps_limits
from .integer import Program, solve_integer
from .model import Model
from .relax import Relaxed, solve_relaxed
from .swap import swap_search
from .work import VATTING, Work

PROVEN_GAP = 0.001
"""Points; an answer this near the bound is as good as any."""
_SCREENED = 400
_EXCHANGED = 2000


class Method(StrEnum):
    """How the answer was found."""

    LINEAR = "linear answer made pourable"
    INTEGER = "integer program"
    SWAPS = "swaps of whole casks"
    EXCHANGE = "exchange of casks by price"
    NONE = "nothing found"


@dataclass(frozen=True, eq=False)
class Found:
    """The best fractions found, and how good they are.

    Attributes
    ----------
    fractions
        What each cask of the model gives; None when nothing was found.
    objective, bound
        Points outside the band, weighted, with the small preferences; no vatting of all the
        eligible casks has less than the bound.
    infeasible
        Whether it was proven that no vatting keeps the limits.
    seconds
        Time spent solving.
    """

    model: Model
    relaxed: Relaxed
    fractions: Floats | None
    objective: float
    bound: float
    infeasible: bool
    method: Method
    seconds: float

    @property
    def gap(self) -> float:
        """Points that a better answer could gain at most."""
        return max(0.0, self.objective - self.bound)

    @property
    def proven(self) -> bool:
        """Whether no better answer exists, to a thousandth of a point."""
        return self.fractions is not None and self.gap <= PROVEN_GAP


@dataclass(eq=False)
class _Race:
    """What has been found so far, and the time that is left."""

    model: Model
    relaxed: Relaxed
    deadline: float
    bound: float
    work: Work
    fractions: Floats | None = None
    objective: float = np.inf
    method: Method = Method.NONE
    infeasible: bool = False

    @property
    def left(self) -> float:
        return self.deadline - perf_counter()

    @property
    def goal(self) -> float:
        return self.work.goal

    @property
    def done(self) -> bool:
        return self.infeasible or self.objective - self.bound <= self.goal or self.left <= 0.0

    def offer(self, fractions: Floats | None, method: Method) -> None:
        """Keep an answer when it is better."""
        if fractions is None or not keeps_limits(self.model, fractions):
            return
        objective = self.model.objective(fractions)
        if objective < self.objective:
            self.fractions, self.objective, self.method = fractions, objective, method


def solve(
    model: Model,
    seconds: float = np.inf,
    *,
    start: Floats | None = None,
    work: Work = VATTING,
) -> Found:
    """Find the best vatting for the band of a model.

    The linear relaxation over all casks gives a bound and prices. Parts of casks: its answer
    is made pourable, then, while it is not near enough to the bound, the integer program runs
    on the casks with the lowest prices and casks are exchanged. Whole casks: swaps from the
    rounded linear answer, and the integer program on small sets or where swaps do not do.

    Parameters
    ----------
    model
        The problem.
    seconds
        The outer limit of a plan of the stock; a step that has begun may run over a little.
    start
        An answer to begin with, such as that of a wider band.
    work
        Counts that end it, so that the answer is the same on every machine.
    """
    began = perf_counter()
    go_on()
    relaxed = solve_relaxed(model)
    race = _Race(model, relaxed, began + seconds, relaxed.bound, work)
    race.infeasible = not relaxed.feasible
    if not race.infeasible:
        race.offer(start, Method.LINEAR)
        (_solve_whole if model.whole else _solve_parts)(race)
    return Found(
        model=model,
        relaxed=relaxed,
        fractions=race.fractions,
        objective=race.objective,
        bound=race.bound,
        infeasible=race.infeasible,
        method=race.method,
        seconds=perf_counter() - began,
    )


def _solve_parts(race: _Race) -> None:
    screen = screened(race.model, race.relaxed)
    small = race.model.only(screen)
    drawn = dive(small)
    race.offer(_spread(race, screen, drawn), Method.LINEAR)
    if race.done:
        return
    _integer(race, screen)
    if race.fractions is not None and race.objective - race.bound > race.goal:
        _exchange(race, race.fractions)


def _exchange(race: _Race, fractions: Floats) -> None:
    near = screened(race.model, race.relaxed, _EXCHANGED)
    near = np.union1d(near, np.flatnonzero(fractions > 0.0)).astype(np.intp)
    model = race.model.only(near)
    best = Drawn(fractions[near], race.objective)
    better = exchange(model, best, race.bound + race.goal, race.work.tries)
    race.offer(_spread(race, near, better), Method.EXCHANGE)


def _spread(race: _Race, columns: Ints, drawn: Drawn | None) -> Floats | None:
    if drawn is None:
        return None
    fractions = np.zeros(race.model.n)
    fractions[columns] = drawn.fractions
    return fractions


def _solve_whole(race: _Race) -> None:
    everything = race.model.n <= _SCREENED
    if everything:
        _integer(race, np.arange(race.model.n))
    if not race.done:
        _swap(race, race.relaxed.fractions)
    if not race.done and not everything:
        _integer(race, screened(race.model, race.relaxed))
    if not race.done and race.method is Method.INTEGER and race.fractions is not None:
        _swap(race, race.fractions)


def _swap(race: _Race, start: Floats) -> None:
    begin = start if race.fractions is None else race.fractions
    found = swap_search(
        race.model,
        begin,
        race.relaxed.reduced_cost,
        race.bound + race.goal,
        race.work.tries,
    )
    if found.kept:
        race.offer(found.fractions, Method.SWAPS)


def _integer(race: _Race, columns: Ints) -> None:
    nodes = race.work.nodes * max(1, _SCREENED // max(len(columns), 1))
    program = solve_integer(race.model.only(columns), race.left, race.goal, nodes=nodes)
    if program.infeasible and len(columns) == race.model.n:
        race.infeasible = True
        return
    if program.fractions is not None:
        fractions = np.zeros(race.model.n)
        fractions[columns] = program.fractions
        race.offer(fractions, Method.INTEGER)
    race.bound = max(race.bound, _bound_for_all(race, columns, program))


def _bound_for_all(race: _Race, columns: Ints, program: Program) -> float:
    """A bound that holds although the program saw some of the casks only.

    An answer with a cask that it did not see costs at least the linear bound and that cask's
    reduced cost for its smallest draw.
    """
    outside = np.ones(race.model.n, dtype=np.bool_)
    outside[columns] = False
    if not outside.any():
        return program.bound
    rise = race.relaxed.reduced_cost[outside] * race.model.low[outside]
    return min(program.bound, race.relaxed.bound + float(rise.min()))


def screened(model: Model, relaxed: Relaxed, most: int = _SCREENED) -> Ints:
    """The casks most worth a place in the integer program, by reduced cost.

    Casks in the linear answer, casks that must be in, and some of each kind that a share by
    number of casks asks for are always among them.
    """
    order = np.argsort(relaxed.reduced_cost, kind="stable")
    chosen = [order[:most], np.flatnonzero(relaxed.fractions > 0.0), np.flatnonzero(model.forced)]
    for row in model.count:
        members = order[row[order] < 0.0]
        chosen.append(members[: most // 8])
    return np.unique(np.concatenate(chosen)).astype(np.intp)

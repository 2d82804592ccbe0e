"""From a stock over the years and releases to casks by release and year."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from time import perf_counter

import numpy as np
import threadpoolctl

from ..array_types import Floats
from ..errors import StoppedError
from ..vatting.chance import Expectation
from ..vatting.mixture import make_mixture
from .after import looked_after
from .blocks import Block, Problem, build_problem, litres_that_count
from .chances import Chances, Vatting, reckon, vatting_of
from .check import check
from .choose import choose, remembered
from .chosen import Chosen
from .costs import prices_of
from .dual import Dual
from .must_be_in import had_elsewhere
from .own_best import own_best
from .question import PlanQuestion
from .result import (
    CUT_SHORT,
    SURE_ENOUGH,
    WORTH,
    CaskPrice,
    DrawnInYear,
    Ended,
    ReleaseAlone,
    ReleasePlan,
    StaysThere,
    StockPlan,
    TogetherNot,
)
from .starts import surest_of_starts
from .until import Until
from .verdict import (
    CAUTIONS,
    beside_sentence,
    is_surer_alone,
    next_action,
    plan_sentence,
    quality_sentence,
)

_AFTER_SECONDS = 120.0
_NO_NOTES = Expectation((), float("nan"), float("nan"), "")


def plan_stock(
    question: PlanQuestion,
    *,
    seconds: float = 180.0,
    begin: StockPlan | None = None,
    clock: Callable[[], float] = perf_counter,
) -> StockPlan:
    """Choose casks for every release of a plan, each cask spent once.

    Parameters
    ----------
    question
        Stocks by day, releases, limits of the house.
    seconds
        The outer limit of the search: what was found by then is told with its bound. A search
        that ends before it gives the same plan on every machine. What would mend a release and
        what cannot stand together has as long again, and two minutes at least.
    begin
        An earlier plan of nearly the same question: a change is answered from it sooner.
    clock
        Seconds, rising: what the limit is measured by.

    Returns
    -------
    StockPlan

    Raises
    ------
    FrameError, LimitsError
        When what is asked cannot be tried, with every fault.

    Examples
    --------
    >>> from datetime import date
    >>> import pandas as pd
    >>> from oakpanel.analysis.stock_plan import PlannedRelease, PlanQuestion, plan_stock
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> from oakpanel.analysis.vatting import Limits, build_stock
    >>> def stock(year):
    ...     casks = pd.DataFrame({"cask": ["a", "b", "c"], "filling": ["a/1", "b/1", "c/1"],
    ...         "age_years": [year - 2014.0] * 3, "abv": [60.0] * 3, "bulk_l": [200.0] * 3})
    ...     smoke = pd.DataFrame({"cask": ["a", "b", "c"], "descriptor": "smoke",
    ...         "estimate": [18.0, 22.0, 40.0], "sd": 1.0})
    ...     return build_stock(casks, smoke, as_of=date(year, 6, 1))
    >>> fen = Target("Fen", (TargetLine("smoke", 20, 4),))
    >>> limits = Limits(litres=250, abv_percent=46, excess_fraction=0.1)
    >>> days = [date(2027, 6, 1), date(2028, 6, 1)]
    >>> plan = plan_stock(PlanQuestion(date(2026, 11, 1), {day: stock(day.year) for day in days},
    ...     tuple(PlannedRelease(f"Fen {day.year}", day, fen, limits) for day in days)))
    >>> [(each.name, each.casks) for each in plan.releases], plan.proven
    ([('Fen 2027', ('a',)), ('Fen 2028', ('b',))], True)
    """
    began = perf_counter()
    check(question)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        problem = build_problem(question)
        chosen = choose(problem, seconds, None if begin is None else begin.prices, clock)
        beside = chosen.alone
        if chosen.ended is not Ended.STOPPED:
            try:
                chosen.fractions = surest_of_starts(problem, chosen.fractions, chosen.moved)
                beside = own_best(problem, chosen.alone, chosen.fractions)
                if chosen.objective - problem.value(beside) > WORTH:
                    chosen.offer(beside)  # never worse than what stands beside it
            except StoppedError:  # what is there by then is a plan
                chosen.ended = Ended.STOPPED
        until = Until(max(seconds, _AFTER_SECONDS), clock)
        return _told(chosen, beside, until, perf_counter() - began)


def _told(chosen: Chosen, beside: list[Floats], until: Until, seconds: float) -> StockPlan:
    problem, fractions = chosen.problem, chosen.fractions
    dual = Dual(problem)
    prices = chosen.prices if len(chosen.prices) else np.zeros(dual.width)
    costs = prices_of(problem, fractions, dual.reduced(prices))
    releases, chances, others = _releases(problem, fractions, beside, costs)
    after = looked_after(
        *(problem, fractions, releases, until),
        mends=chosen.ended not in CUT_SHORT or chosen.proven,
        conflicts=chosen.ended is not Ended.STOPPED,
    )
    releases, conflict = after.releases, after.together_not
    chosen.ended = Ended.STOPPED if after.stopped else chosen.ended
    cut = chosen.ended in CUT_SHORT and not chosen.proven
    still_open = _still_open(releases, conflict) if cut else ()
    objective, other = chosen.objective, problem.value(chosen.alone)
    sure = _of_made(problem, fractions, chances, [each.fails for each in releases])
    alone_sure = _of_made(problem, beside, others, [each.alone.fails for each in releases])
    surer = is_surer_alone(other - objective, releases, chances, others)
    return StockPlan(
        as_of=problem.question.as_of,
        sentence=plan_sentence(
            *(releases, sure.joint, len(sure.each), problem.blocks[-1].release.on.year),
            # Whoever stops it hears so though it was proven: what would mend it was not looked for.
            cut=chosen.ended if cut or chosen.ended is Ended.STOPPED else None,
            still_open=still_open,
            mends_open=after.mends_open,
            together_open=after.together_open,
        ),
        next_action=next_action(releases, still_open, surer_alone=surer),
        quality_sentence=quality_sentence(
            *(objective, chosen.bound, chosen.ended), still_open=bool(still_open)
        ),
        beside_sentence=beside_sentence(
            other - objective,
            alone_sure.joint,
            len(alone_sure.each),
            nothing=not any(each.alone.n_casks for each in releases),
        ),
        cautions=CAUTIONS,
        releases=releases,
        joint=chances.joint,
        joint_se=chances.joint_se,
        joint_of=len(chances.each),
        alone_joint=others.joint,
        joint_made=sure.joint,
        joint_made_of=len(sure.each),
        alone_joint_made=alone_sure.joint,
        surer_alone=surer,
        deviation=sum(each.deviation for each in releases),
        alone_deviation=sum(each.alone.deviation for each in releases),
        objective=objective,
        alone_objective=other,
        bound=chosen.bound,
        ended=chosen.ended,
        seconds=seconds,
        drawn=_drawn(problem, fractions),
        stays=_stays(problem, fractions),
        together_not=conflict,
        prices=remembered(chosen, dual),
        still_open=still_open,
        mends_open=after.mends_open,
        together_open=after.together_open,
    )


def _still_open(releases: tuple[ReleasePlan, ...], conflict: TogetherNot | None) -> tuple[str, ...]:
    """Releases that fail by now; one of which it is proven that it cannot be filled is not open."""
    alone = conflict.releases if conflict is not None and conflict.each_alone else ()
    return tuple(each.name for each in releases if each.fails and each.name not in alone)


def _releases(
    problem: Problem,
    fractions: list[Floats],
    alone: list[Floats],
    costs: list[tuple[CaskPrice, ...]],
) -> tuple[tuple[ReleasePlan, ...], Chances, Chances]:
    vattings = [_vatting(each, given) for each, given in _zip(problem, fractions)]
    beside = [_vatting(each, given) for each, given in _zip(problem, alone)]
    chances = _chances(problem, vattings)
    others = _chances(problem, beside, draws=chances.draws)
    of, of_alone = iter(chances.each), iter(others.each)
    found = []
    for at, block in enumerate(problem.blocks):
        vatting, other = vattings[at], beside[at]
        counts = not block.litres_only
        expected = next(of) if counts and vatting is not None else None
        expected_alone = next(of_alone) if counts and other is not None else None
        mixture = (
            None
            if vatting is None
            else make_mixture(vatting.task, vatting.rows, vatting.litres, expected or _NO_NOTES)
        )
        missing = block.missing(fractions[at])
        unsure = expected is not None and expected.probability < SURE_ENOUGH
        found.append(
            ReleasePlan(
                name=block.release.name,
                on=block.release.on,
                litres_only=problem.question.litres_only.get(block.release.on),
                mixture=mixture,
                deviation=_deviation(block, fractions[at]),
                missing=missing,
                prices=costs[at],
                worst_descriptor=None if expected is None else expected.worst_descriptor,
                fails=unsure or missing > 0.0 or mixture is None,
                must_have=had_elsewhere(problem, fractions, at) if mixture is None else (),
                kept_bottles=block.release.kept_bottles,
                alone=ReleaseAlone(
                    deviation=_deviation(block, alone[at]),
                    missing=block.missing(alone[at]),
                    probability=None if expected_alone is None else expected_alone.probability,
                    n_casks=0 if other is None else len(other.rows),
                ),
            )
        )
    return tuple(found), chances, others


def _zip(problem: Problem, fractions: list[Floats]) -> list[tuple[Block, Floats]]:
    return list(zip(problem.blocks, fractions, strict=True))


def _vatting(block: Block, given: Floats) -> Vatting | None:
    return vatting_of(block, given) if np.any(given > 0.0) else None


def _chances(problem: Problem, vattings: list[Vatting | None], draws: int | None = None) -> Chances:
    return reckon(
        [
            vatting
            for block, vatting in zip(problem.blocks, vattings, strict=True)
            if vatting is not None and not block.litres_only
        ],
        draws=draws,
    )


def _of_made(
    problem: Problem, fractions: list[Floats], every: Chances, fails: Sequence[bool]
) -> Chances:
    """The chances of the releases that do not fail alone, of the same futures."""
    if not any(fails):
        return every
    made = [
        None if failed else _vatting(*each)
        for failed, each in zip(fails, _zip(problem, fractions), strict=True)
    ]
    return _chances(problem, made, draws=every.draws)


def _deviation(block: Block, given: Floats) -> float:
    """Weighted points outside the band by the estimates."""
    return float(block.model.soft_weight @ block.model.outside(given))


def _drawn(problem: Problem, fractions: list[Floats]) -> tuple[DrawnInYear, ...]:
    most = problem.question.house.most_litres_a_year
    already = problem.question.house.drawn_already
    return tuple(
        DrawnInYear(row.year, row.taken(fractions), most, already.get(row.year, 0.0))
        for row in problem.house
        if row.year is not None
    )


def _stays(problem: Problem, fractions: list[Floats]) -> tuple[StaysThere, ...]:
    rows = [row for row in problem.house if row.year is None]
    found = []
    for stay, row in zip(problem.question.house.stay, rows, strict=True):
        there = float(litres_that_count(problem.question, stay).sum())
        found.append(StaysThere(stay.words, stay.litres, there - row.taken(fractions)))
    return tuple(found)

"""From a target and limits to casks, litres and how sure they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import threadpoolctl

from ..target import Target
from ..under_way import Stage, step
from .answers import ANSWERS, different_answers
from .check import check
from .conflict import Conflict, find_conflict
from .eligible import Eligible
from .exchanged import exchanged
from .limits import Limits
from .mixing import MixingRule
from .mixture import Mixture, surely_fills
from .prices import Price, price_limits, search_without, surer_within
from .reach import find_reach
from .result import NoVatting, PricedLimit, SaidStandIn, VattingPlan
from .stand_ins import stand_ins
from .stock import Stock
from .task import Task, make_task
from .tighten import KAPPAS, Tightened, tighten
from .verdict import (
    BENCH,
    LABEL,
    VAPOUR,
    conflict_sentence,
    first_sentence,
    limit_words,
    next_action,
    plan_sentence,
    price_sentence,
    quality_sentence,
    stand_in_sentence,
)

_PARTS = 4
"""Of a full answer: the choice, other answers, stand-ins, the price of each limit."""


def plan_vatting(
    stock: Stock,
    target: Target,
    limits: Limits,
    rule: MixingRule | None = None,
    *,
    kappas: Sequence[float] = KAPPAS,
    in_full: bool = False,
) -> VattingPlan | NoVatting:
    """Choose casks and litres for a release.

    Parameters
    ----------
    stock
        Casks and what is predicted of them.
    target
        Aims, tolerances and weights.
    limits
        Quantity, strength, age, shares, casks.
    rule
        How notes mix; in proportion to pure alcohol when not given.
    kappas
        Standard deviations of the vatting by which the tolerance band is drawn in, rising from
        0; the round with the greatest chance wins.
    in_full
        Also find different answers, stand-ins for every cask and the price of every limit.
        That solves the question a dozen times more. The surest of the answers comes first, so
        it may be another than without.

    Returns
    -------
    VattingPlan or NoVatting
        The latter when the limits cannot stand together, or nothing was found.

    Raises
    ------
    LimitsError
        When what is asked cannot be tried, with every fault.

    Notes
    -----
    A vatting's score on a line is ``gain (sum share score^(1/n))^n`` with shares in pure
    alcohol (a power law of intensity; n is the line's exponent). In ``q = score^(1/n)`` that is
    linear, and the problem is to minimise the weighted points outside the tolerances, under
    linear rows for quantity, strength and shares, with a binary for each cask. The bound comes
    from the linear relaxation over all eligible casks. Searches are seeded and end by counts of
    work, so that the same question has the same answer on every machine.

    Examples
    --------
    >>> import pandas as pd
    >>> from oakpanel.analysis.target import Target, TargetLine
    >>> from oakpanel.analysis.vatting import Limits, build_stock, plan_vatting
    >>> casks = pd.DataFrame({"cask": ["a", "b", "c"], "filling": ["a/1", "b/1", "c/1"],
    ...     "age_years": [12.2, 14.0, 15.5], "abv": [58.0, 57.0, 56.0], "bulk_l": [200.0] * 3})
    >>> smoke = pd.DataFrame({"cask": ["a", "b", "c"], "descriptor": "smoke",
    ...     "estimate": [10.0, 30.0, 50.0], "sd": 1.0})
    >>> plan = plan_vatting(build_stock(casks, smoke), Target("Fen", (TargetLine("smoke", 20, 4),)),
    ...     Limits(litres=480, abv_percent=46, excess_fraction=0.1))
    >>> plan.mixture.casks, plan.proven
    (('a', 'b'), True)
    """
    eligible = check(stock, target, limits)
    task = make_task(stock, target, limits, rule or MixingRule())
    step(Stage.VATTING, 0, _PARTS)
    with threadpoolctl.threadpool_limits(limits=1, user_api="blas"):
        chosen = tighten(task, kappas=kappas)
        if chosen.mixture is not None and not surely_fills(chosen.mixture, limits):
            # Its casks are too unlike for their errors to average out as was counted on.
            task = replace(task, stock=replace(stock, margin_casks=1.0))
            chosen = tighten(task, kappas=kappas)
        if chosen.mixture is None:
            return _nothing(task, chosen, eligible)
        if in_full:
            plan = _in_full(task, chosen, eligible)
        else:
            plan = _plan(task, chosen, chosen.mixture, eligible)
        step(Stage.VATTING, _PARTS, _PARTS)
        return plan


def _plan(
    task: Task,
    chosen: Tightened,
    mixture: Mixture,
    eligible: Eligible,
    answers: tuple[Mixture, ...] | None = None,
    prices: tuple[Price, ...] = (),
) -> VattingPlan:
    reach = find_reach(task, chosen.first.model, chosen.first.relaxed)
    found = chosen.found
    return VattingPlan(
        target=task.target.name,
        sentence=plan_sentence(mixture, reach),
        next_action=next_action(mixture, reach, task.limits, prices),
        quality_sentence=" ".join(
            (
                quality_sentence(found.gap, found.proven, chosen.kappa),
                first_sentence(mixture, answers),
            )
        ),
        cautions=(BENCH, LABEL, VAPOUR),
        mixture=mixture,
        proven=found.proven,
        gap=found.gap,
        objective=found.objective,
        bound=found.bound,
        kappa=chosen.kappa,
        method=found.method.value,
        solver_seconds=sum(one.seconds for one in chosen.rounds),
        rounds=chosen.rounds,
        reach=reach,
        n_eligible=len(eligible.rows),
        barred=eligible.counts,
        answers=answers,
    )


def _in_full(task: Task, tightened: Tightened, eligible: Eligible) -> VattingPlan:
    step(Stage.VATTING, 1, _PARTS)
    searched = search_without(task)
    step(Stage.VATTING, 2, _PARTS)
    surest = exchanged(task, surer_within(task, tightened, searched))
    answers = different_answers(task, surest, count=ANSWERS)
    chosen, mixtures = answers.chosen, answers.mixtures
    others = [SaidStandIn(found, stand_in_sentence(found)) for found in stand_ins(task, chosen)]
    step(Stage.VATTING, 3, _PARTS)
    prices = price_limits(task, chosen, searched)
    plan = _plan(task, chosen, mixtures[0], eligible, mixtures, prices)
    said = tuple(
        PricedLimit(price, limit_words(price.key, task.limits), price_sentence(price, task.limits))
        for price in prices
    )
    return replace(plan, stand_ins=tuple(others), prices=said)


def _nothing(task: Task, chosen: Tightened, eligible: Eligible) -> NoVatting:
    conflict: Conflict = find_conflict(task)
    return NoVatting(
        target=task.target.name,
        sentence=conflict_sentence(conflict, task.limits),
        conflict=tuple(limit_words(key, task.limits) for key in conflict.keys),
        keys=conflict.keys,
        proven=chosen.found.infeasible or conflict.proven,
        n_eligible=len(eligible.rows),
        barred=eligible.counts,
    )

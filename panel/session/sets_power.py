"""What a session in sets can find, reckoned from its plan before a glass is poured."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.difference import Asked, Method, plan_difference
from analysis.ranking import plan_ranking
from panel.kinds import Task

if TYPE_CHECKING:
    from analysis.difference import DifferencePlan
    from analysis.ranking import RankingPlan
    from panel.kinds import SessionKind
    from panel.session.blueprint import Blueprint
    from panel.store.key import PlannedFinding

METHODS = {
    Task.PICK: Method.STRONGER,
    Task.SORT: Method.TWO_AND_TWO,
    Task.ODD: Method.ODD_ONE_OUT,
    Task.MATCH: Method.LIKE_THE_FIRST,
}


def asked_of(kind: SessionKind, finding: PlannedFinding | None) -> Asked:
    """Return what a session of two products asks, as it was said before the first glass."""
    task = kind.facts.task
    if task not in METHODS:
        raise ValueError(f"{kind.value} is not about two products")
    if finding is None:
        return Asked(METHODS[task])
    return Asked(METHODS[task], finding.stronger_id is None, finding.alike_within)


def sets_can_tell(plan: Blueprint) -> DifferencePlan | RankingPlan:
    """Return what the sets of a plan can find."""
    people, n_sets = len(plan.session.assessors), plan.laid.flights
    if plan.session.kind.facts.task is Task.RANK:
        products = len({glass.draw_id for glass in plan.glasses})
        return plan_ranking(products, people * n_sets, people=people, seed=1)
    return plan_difference(asked_of(plan.session.kind, plan.finding), people * n_sets, people)

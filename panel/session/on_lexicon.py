"""Sessions scored on descriptors of the house: the same lines for everybody."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from panel.session.design import Design, design_session
from panel.session.held_as import HeldAs, LineWork, SeatLines

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.blueprint import Blueprint
    from panel.session.plan_parts import SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    if not plan.descriptors:
        yield "The plan names no descriptor to score."


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.most_words is not None:
        yield "A number of words goes with own words only."


def _no_words(_db: Session, _plan: SessionPlan) -> None:
    return None


def balanced(plan: Blueprint) -> Design:
    """Return trays on which every glass stands as often before as after each other one."""
    return design_session(plan.seed, plan.glasses, plan.order)


def _no_warnings(_plan: Blueprint) -> Iterator[str]:
    yield from ()


def _work(plan: Blueprint, _design: Design) -> LineWork:
    return LineWork(len(plan.session.descriptors))


def _seat_lines(_db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    lines = SeatLines(len(session.descriptors))
    return {seat.person_id: lines for seat in session.assessors}


def _lines_said(summary: PlanSummary) -> str:
    return f"Descriptors ({len(summary.descriptors)}): {', '.join(summary.descriptors)}."


def _nothing_said(_session: PanelSession) -> None:
    return None


ON_LEXICON = HeldAs(
    line_faults=_line_faults,
    setting_faults=_setting_faults,
    most_words=_no_words,
    design=balanced,
    warnings=_no_warnings,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_nothing_said,
)

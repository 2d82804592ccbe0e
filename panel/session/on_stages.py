"""Sessions on the lexicon in which some notes are scored at each stage of a glass, others once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import Manner
from panel.session.held_as import HeldAs, LineWork, SeatLines, line_ballot
from panel.session.on_lexicon import ON_LEXICON
from panel.session.on_traces import air_warning
from panel.session.paper import paragraph
from panel.store.stage_lines import (
    LEAST_ML,
    MOST_ML,
    how_to_taste,
    sheet_names,
    staged_rows,
    told_of,
)

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.stages import StagePlan
    from panel.session.blueprint import Blueprint
    from panel.session.design import Design
    from panel.session.plan_parts import SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession, Serving

MOST_STAGED = 3
"""Notes that one sip can carry: nobody keeps more of them apart over a finish (common practice, no
source)."""


def _fill(_db: Session, plan: SessionPlan, _seed: int) -> SessionPlan:
    """Put the notes by stages among the lines."""
    more = (name for name in dict.fromkeys(plan.stages) if name not in plan.descriptors)
    return replace(plan, descriptors=(*plan.descriptors, *more))


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    if not plan.stages:
        yield "The plan names no descriptor to score by stages."
    twice = [name for name in dict.fromkeys(plan.stages) if plan.stages.count(name) > 1]
    if twice:
        yield f"To be scored by stages stands twice in the plan: {', '.join(twice)}."
    if len(dict.fromkeys(plan.stages)) > MOST_STAGED:
        yield (
            f"{len(dict.fromkeys(plan.stages))} descriptors by stages: one sip carries "
            f"{MOST_STAGED} at most. Score the others once, or in a session of their own."
        )


def _setting_faults(plan: SessionPlan) -> Iterator[str]:
    yield from ON_LEXICON.setting_faults(plan)
    if plan.manner is not Manner.TASTE:
        yield (
            "Arrival, development and finish are in the mouth: stages are scored where glasses "
            "are tasted (`--taste`)."
        )
    if plan.pour_ml is not None and plan.pour_ml < LEAST_ML:
        yield (
            f"{in_digits(plan.pour_ml, 'g')} mL a glass: a sip takes {in_digits(LEAST_ML, 'g')} to "
            f"{in_digits(MOST_ML, 'g')} mL."
        )


def _work(plan: Blueprint, _design: Design) -> LineWork:
    return LineWork(len(sheet_names(plan.session)))


def _seat_lines(_db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    lines = SeatLines(len(sheet_names(session)))
    return {seat.person_id: lines for seat in session.assessors}


def _lines_said(summary: PlanSummary) -> str:
    return f"{ON_LEXICON.lines_said(summary)} {how_to_taste(summary.stages)}"


def _sheet_said(session: PanelSession) -> str:
    return told_of(session)


def _can_tell(plan: Blueprint) -> StagePlan:
    from analysis.stages import plan_stages

    samples = len({glass.draw_id for glass in plan.glasses})
    notes = staged_rows(plan.session.descriptors)
    return plan_stages(len(plan.session.assessors), samples, len(notes))


def _ballot(session: PanelSession, tray: Sequence[Serving]) -> Iterator[str]:
    yield from paragraph(_sheet_said(session))
    yield ""
    yield from line_ballot(session, tray)


BY_STAGES = HeldAs(
    line_faults=_line_faults,
    setting_faults=_setting_faults,
    most_words=ON_LEXICON.most_words,
    design=ON_LEXICON.design,
    warnings=air_warning,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_sheet_said,
    fill=_fill,
    can_tell=_can_tell,
    ballot=_ballot,
)

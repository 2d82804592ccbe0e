"""Sessions in which each assessor names the lines: nosed for words first, then scored on them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.kinds import GlassKind
from panel.session.held_as import HeldAs, LineWork, SeatLines
from panel.session.on_lexicon import balanced
from panel.store.house import number_setting
from panel.store.own_words import OwnWord

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.blueprint import Blueprint
    from panel.session.design import Design
    from panel.session.plan_parts import SessionPlan
    from panel.session.summary import PlanSummary
    from panel.store.sessions import PanelSession

FEW_LIQUIDS = 6
"""Two random tables of 12 words on 6 samples come to a mean RV of 0.70 (own simulation)."""


def _line_faults(plan: SessionPlan) -> Iterator[str]:
    if plan.descriptors:
        yield (
            "In own words nobody scores the lexicon: leave the descriptors out, or plan two "
            "sessions."
        )


def _no_setting_faults(_plan: SessionPlan) -> Iterator[str]:
    yield from ()


def _most_words(db: Session, plan: SessionPlan) -> int:
    return plan.most_words or int(number_setting(db, "own_words"))


def _warnings(plan: Blueprint) -> Iterator[str]:
    yield (
        "own words are for seeing how the glasses lie to each other: they give no profile, no "
        "agreement a descriptor and no match to a target."
    )
    tests = {g.draw_id for g in plan.glasses if g.kind is not GlassKind.WARM_UP}
    if len(tests) < FEW_LIQUIDS:
        yield (
            f"{len(tests)} different liquids are few to lay out by own words: with so few, lists "
            "of words look alike by chance."
        )


def _work(plan: Blueprint, design: Design) -> LineWork:
    """Count as many lines as there may be, and the first flight once more to find them."""
    first_flight = len(design.trays[0][0]) + (design.warm_up is not None)
    return LineWork(plan.session.most_words or 0, first_flight)


def _seat_lines(db: Session, session: PanelSession) -> Mapping[int, SeatLines]:
    counted = (
        select(OwnWord.person_id, func.count())
        .where(OwnWord.session_id == session.id)
        .group_by(OwnWord.person_id)
    )
    named = {person_id: count for person_id, count in db.execute(counted)}
    people = [seat.person_id for seat in session.assessors]
    return {person: SeatLines(named.get(person, 0), named.get(person, 0)) for person in people}


def _lines_said(summary: PlanSummary) -> str:
    return (
        f"Own words: each assessor noses the first flight, names at most {summary.most_words} "
        "words and scores every glass on them."
    )


def _sheet_said(session: PanelSession) -> str:
    return (
        f"Own words: nose the first flight, name what you find (at most {session.most_words} "
        "words), then score every glass."
    )


IN_OWN_WORDS = HeldAs(
    line_faults=_line_faults,
    setting_faults=_no_setting_faults,
    most_words=_most_words,
    design=balanced,
    warnings=_warnings,
    work=_work,
    seat_lines=_seat_lines,
    lines_said=_lines_said,
    sheet_said=_sheet_said,
)

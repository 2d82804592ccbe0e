"""The proposal as a plan: who gets which sample, and the rest as in the last session."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import PlanRefused
from panel.kinds import USUAL_KIND, DrawKind, Manner
from panel.questions.targets import target_record
from panel.session.assigned import Assigned
from panel.session.last_time import like_last_time
from panel.session.plan_parts import AUTO, SessionPlan, lexicon_names
from panel.store.draws import Draw
from panel.store.house import number_setting

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.questions.next_session import NextAnswer

_NAMED = 12


def plan_of(
    db: Session, answer: NextAnswer, name: str, *, held_on: date, manner: Manner = Manner.NOSE
) -> SessionPlan:
    """Return a proposal as the plan of a draft.

    Reference, pour and pause are those of the last session of the kind, else the house's; its
    lines follow those of the target. One duplicate a tray is chosen blind.

    Raises
    ------
    PlanRefused
        Nothing is proposed, or samples have to be drawn first.
    """
    found = answer.found
    if not found.glasses:
        raise PlanRefused("No glass is proposed, so there is no session to plan.")
    lacking = sorted({glass.cask or "the blend" for glass in found.glasses if not glass.sample})
    if lacking:
        more = f" and {len(lacking) - _NAMED} more" if len(lacking) > _NAMED else ""
        raise PlanRefused(
            f"Session {name!r} was not planned: to be drawn first are {', '.join(lacking[:_NAMED])}"
            f"{more}. Record the draws and ask again, or ask for samples at hand only (--at-hand, "
            "with --shelf SAMPLE for each old one that stands there and may be poured)."
        )
    pairs = tuple(Assigned(glass.assessor, str(glass.sample)) for glass in found.glasses)
    plan = usual_plan(db, name, held_on, manner)
    return replace(_with_lines(db, plan, answer.target), assigned=pairs)


def _with_lines(db: Session, plan: SessionPlan, target: str | None) -> SessionPlan:
    """Put the lines of a target first, as far as they can be scored, then those that are usual."""
    if target is None:
        return plan
    able = lexicon_names(db, plan.manner, plan.held_on or date.max)
    asked = [line.descriptor for line in target_record(db, target).lines]
    wanted = tuple(name for name in asked if name in able)
    most = int(number_setting(db, "session_descriptors"))
    more = tuple(name for name in plan.descriptors if name not in wanted)
    lines = (wanted + more)[: max(most, len(wanted))]
    return replace(plan, descriptors=lines, insist=len(lines) > most)


def usual_plan(db: Session, name: str, on: date, manner: Manner = Manner.NOSE) -> SessionPlan:
    """Return a plan like that of the last session, its samples and assessors left open."""
    last = like_last_time(db, USUAL_KIND, on=on)
    if last is None or last.plan.manner is not manner:
        plan = SessionPlan(name, (), (), lexicon_names(db, manner, on), manner=manner)
    else:
        plan = replace(last.plan, name=name, assessors=(), warm_up=None)
    reference = plan.reference or _reference(db, on)
    return replace(plan, held_on=on, reference=reference, duplicates=(AUTO,), replicates=1)


def _reference(db: Session, on: date) -> str | None:
    """Return the newest batch of the reference that was made by then."""
    query = select(Draw.label).where(
        Draw.kind == DrawKind.REFERENCE, Draw.drawn_on <= on, Draw.fate.is_(None)
    )
    return db.scalar(query.order_by(Draw.drawn_on.desc(), Draw.id.desc()).limit(1))

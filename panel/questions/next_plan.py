"""The proposal as a plan: who gets which sample, and the rest as in the last session."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import PlanRefused
from panel.kinds import USUAL_KIND, DrawKind, Manner
from panel.session.assigned import Assigned
from panel.session.last_time import like_last_time
from panel.session.plan_parts import AUTO, SessionPlan, lexicon_names
from panel.store.draws import Draw

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import NextSession

_NAMED = 12


def plan_of(
    db: Session, found: NextSession, name: str, *, held_on: date, manner: Manner = Manner.NOSE
) -> SessionPlan:
    """Return a proposal as the plan of a draft.

    Lines, reference, pour and pause are those of the last session of the kind, else the
    lexicon's and the house's; one duplicate a tray is chosen blind.

    Raises
    ------
    PlanRefused
        Nothing is proposed, or samples have to be drawn first.
    """
    if not found.glasses:
        raise PlanRefused("No glass is proposed, so there is no session to plan.")
    lacking = sorted({glass.cask or "the blend" for glass in found.glasses if not glass.sample})
    if lacking:
        more = f" and {len(lacking) - _NAMED} more" if len(lacking) > _NAMED else ""
        raise PlanRefused(
            f"Session {name!r} was not planned: to be drawn first are {', '.join(lacking[:_NAMED])}"
            f"{more}. Record the draws and ask again, or ask for samples at hand only (--at-hand)."
        )
    pairs = tuple(Assigned(glass.assessor, str(glass.sample)) for glass in found.glasses)
    return replace(_usual(db, name, held_on, manner), assigned=pairs)


def _usual(db: Session, name: str, on: date, manner: Manner) -> SessionPlan:
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

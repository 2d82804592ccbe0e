"""A plan like that of the last session of its kind: all but its draws, which are new each time."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import Role, SessionKind, SessionStatus
from panel.session.drafts import planned_again
from panel.session.plan_parts import AUTO, SessionPlan, lexicon_names
from panel.store.sessions import PanelSession
from panel.store.who import people_with


@dataclass(frozen=True)
class LastTime:
    """A session that was held, and the plan of the next one like it."""

    session: str
    plan: SessionPlan


def like_last_time(db: Session, kind: SessionKind, *, on: date) -> LastTime | None:
    """Return a plan for *on* like the last session of a kind; None where there was none.

    A rehearsal is taken only where no other one of the kind was held.

    Taken over are the people who are still there, the lexicon's lines that are still in use,
    replicates, how many duplicates, pause, pour, strength, reference, warm-up and manner. Name,
    day and draws are left open. Which draw was a duplicate is neither told nor taken over.
    """
    last = _last(db, kind)
    if last is None:
        return None
    plan = planned_again(db, last)
    there = {person.code for person in people_with(db, Role.ASSESSOR, on)}
    lines = set(lexicon_names(db, plan.manner, on))
    again = replace(
        plan,
        name="",
        held_on=None,
        draws=(),
        assigned=(),
        assessors=tuple(code for code in plan.assessors if code in there),
        descriptors=tuple(name for name in plan.descriptors if name in lines),
        duplicates=(AUTO,) * len(plan.duplicates),
        seed=None,
    )
    return LastTime(last, again)


def _last(db: Session, kind: SessionKind) -> str | None:
    planned = (
        select(PanelSession.name)
        .where(
            PanelSession.kind == kind,
            PanelSession.loaded.is_(False),
            PanelSession.status != SessionStatus.DRAFT,
        )
        .order_by(PanelSession.rehearsal, PanelSession.held_on.desc(), PanelSession.id.desc())
    )
    return db.scalar(planned.limit(1))

"""Lifting a hold that passing set: another person does it, after a second nose passed the cask."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import NotAllowed, UnknownRecord
from panel.records.deed import deed
from panel.session.passing_stands import OnHold, on_hold, passed_since
from panel.store.casks import Cask, Filling, HoldChange
from panel.store.finding import nearest_words
from panel.store.people import Person

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class HoldLifted:
    """A hold that was lifted: what it had been for, and who had passed the cask since."""

    cask: str
    filling: str
    reason: str
    passed_by: tuple[str, ...]
    session: str


def lift_passing_hold(db: Session, cask: str, *, now: datetime, by: str | None) -> HoldLifted:
    """Lift the hold of a cask, or of a filling by its label, that noses held in passing.

    Raises
    ------
    UnknownRecord
        There is no such cask, or passing holds nothing of it.
    NotAllowed
        Whoever acts does not lead or held it, or nobody else has passed it since.
    """
    with deed(db, "passing hold lifted", now=now, by=by) as done:
        on = _held(db, cask)
        filling, noses = on.filling, on.held.noses if on.held is not None else frozenset()
        acting = db.scalar(select(Person.id).where(Person.code == done.by))
        if acting in noses:
            raise NotAllowed(
                f"{done.by} held {filling.label}: another person lifts the hold (--by CODE)."
            )
        passed = passed_since(db, on)
        if not passed and on.repeated:
            raise NotAllowed(
                f"{len(noses)} noses held {filling.label}, and nobody passed it since: it stays."
            )
        if not passed:
            raise NotAllowed(
                f"Nobody but who held it has passed {filling.label} since it was held: have it "
                "nosed again by a second nose first (`oakpanel session plan NAME --again SESSION`)."
            )
        reason = filling.hold_reason or ""
        db.add(
            HoldChange(
                filling=filling,
                reason=None,
                until=None,
                reason_before=filling.hold_reason,
                until_before=filling.hold_until,
                changed_at=now,
                by_code=done.by,
            )
        )
        filling.hold_reason, filling.hold_until = None, None
        db.flush()
        done.details.update(filling=filling.label, session=passed[0].session)
        return HoldLifted(
            cask=filling.cask.number,
            filling=filling.label,
            reason=reason,
            passed_by=tuple(dict.fromkeys(glass.assessor for glass in passed)),
            session=passed[0].session,
        )


def _held(db: Session, named: str) -> OnHold:
    asked = select(Filling).join(Cask).where((Cask.number == named) | (Filling.label == named))
    fillings = list(db.scalars(asked))
    if not fillings:
        near = nearest_words(named, db.scalars(select(Cask.number)))
        raise UnknownRecord(f"There is no cask {named!r}.{near}")
    holds = on_hold(db, [filling.id for filling in fillings])
    for filling in fillings:
        if filling.id in holds:
            return holds[filling.id]
    raise UnknownRecord(f"Passing holds nothing of {named}: `oakpanel passing slips` lists it.")

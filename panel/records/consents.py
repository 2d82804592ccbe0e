"""Consent of the people of a panel: given to a text on a day, and withdrawn in one act."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import delete, select, update

from panel.errors import EntriesAtFault, NotAllowed
from panel.kinds import KEY_IS_SECRET, Role, SessionStatus
from panel.store.consents import Consent, consents_of
from panel.store.house import read_setting, today_at_site
from panel.store.log import append_entry
from panel.store.passes import end_passes
from panel.store.sessions import PanelSession, SessionAssessor
from panel.store.who import has_role, lead_or_first, person_by_code
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from panel.store.people import Person


@dataclass(frozen=True)
class ConsentGiven:
    """What somebody consented to, and when."""

    person: str
    given_on: date
    text_version: str
    keeps_scores: bool


@dataclass(frozen=True)
class ConsentWithdrawn:
    """A consent withdrawn, and what went with it at once.

    `drafts` are planned sessions that they were taken out of; `sits_in` sealed or open ones, whose
    key holds until the reveal: there they are marked absent, or the session goes on without them.
    """

    person: str
    withdrawn_on: date
    drafts: tuple[str, ...]
    sits_in: tuple[str, ...]
    keeps_scores: bool
    """Whether they agreed that scores stay under a pseudonym once they are erased."""

    @property
    def next_step(self) -> str:
        """The command that erases them as they agreed."""
        return f"oakpanel people erase {self.person}{' --keep-scores' if self.keeps_scores else ''}"


def give_consent(
    db: Session,
    code: str,
    *,
    text_version: str | None = None,
    keeps_scores: bool = False,
    given_on: date | None = None,
    now: datetime,
    by: str | None,
) -> ConsentGiven:
    """Record that somebody consented, on a day, to a version of the house's text.

    Without a version it is the one that the setting `consent_text` names.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or whoever acts is neither that person nor a lead.
    EntriesAtFault
        No text is named and the house names none; the day is to come.
    """
    today = today_at_site(db, now)
    who, person = _who(db, code, by, today), person_by_code(db, code)
    text, day = text_version or str(read_setting(db, "consent_text")), given_on or today
    if faults := _faults(text, day, today):
        raise EntriesAtFault(faults)
    given = Consent(person_id=person.id, given_on=day, text_version=text, keeps_scores=keeps_scores)
    db.add(given)
    db.flush()
    details = {"person": code, "given_on": day.isoformat(), "text": text}
    append_entry(db, at=now, by=who, action="consent given", details=details)
    return ConsentGiven(code, day, text, keeps_scores)


def _faults(text: str, day: date, today: date) -> dict[str, str]:
    faults = {}
    if not text.strip():
        faults["text"] = (
            "say to which version of your text (--text), or name it for the house once: `oakpanel "
            "house set consent_text VERSION`"
        )
    elif wrong := name_fault(text):
        faults["text"] = f"the version {wrong}"
    if day > today:
        faults["given_on"] = f"{day} is still to come"
    return faults


def withdraw_consent(db: Session, code: str, *, now: datetime, by: str | None) -> ConsentWithdrawn:
    """Withdraw somebody's consent: from here on they are planned into nothing.

    In one act: the day is kept beside the consent, they go out of every draft, are no assessor any
    more, marks of not being at their best are taken off and passes end. Scores and name stay until
    they are erased, which is the next step and theirs to ask for.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is nobody of that code; or whoever acts is neither that person nor a lead.
    """
    today = today_at_site(db, now)
    who, person = _who(db, code, by, today), person_by_code(db, code)
    keeps = False
    for consent in consents_of(db, person):
        if consent.withdrawn_on is None:
            consent.withdrawn_on, keeps = max(today, consent.given_on), consent.keeps_scores
    done = ConsentWithdrawn(
        code,
        today,
        _sessions(db, person, SessionStatus.DRAFT),
        _sessions(db, person, *KEY_IS_SECRET),
        keeps,
    )
    _leave_drafts(db, person)
    if has_role(person, Role.ASSESSOR):
        person.roles = [held for held in person.roles if held.role is not Role.ASSESSOR]
    end_passes(db, person=person)
    db.flush()
    append_entry(db, at=now, by=who, action="consent withdrawn", details={"person": code})
    return done


def refuse_without_consent(db: Session, person: Person) -> None:
    """Refuse to make an assessor of somebody who has withdrawn their consent.

    Raises
    ------
    NotAllowed
        The last consent that they gave is withdrawn.
    """
    given = consents_of(db, person)
    if given and given[-1].withdrawn_on is not None:
        raise NotAllowed(
            f"{person.code} withdrew their consent on {given[-1].withdrawn_on}. Record a new one "
            f"first (`oakpanel people consent {person.code}`), if they give it."
        )


def _who(db: Session, code: str, by: str | None, on: date) -> str:
    return code if by == code else lead_or_first(db, by, on=on)


def _sessions(db: Session, person: Person, *stages: SessionStatus) -> tuple[str, ...]:
    asked = (
        select(PanelSession.name)
        .join(SessionAssessor)
        .where(SessionAssessor.person_id == person.id, PanelSession.status.in_(stages))
    )
    return tuple(sorted(db.scalars(asked)))


def _leave_drafts(db: Session, person: Person) -> None:
    theirs = SessionAssessor.person_id == person.id
    drafts = select(PanelSession.id).where(PanelSession.status == SessionStatus.DRAFT)
    db.execute(delete(SessionAssessor).where(theirs, SessionAssessor.session_id.in_(drafts)))
    db.execute(update(SessionAssessor).where(theirs).values(not_at_best=False))

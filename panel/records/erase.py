"""Erasing a person: name, PIN, roles and code go; the log's chain and the panel's figures hold.

What was erased is overwritten afterwards (`panel.store.erasing`). Backups made before still hold
the person; they are the house's to delete.
"""

from __future__ import annotations

import secrets
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import cast

from sqlalchemy import ColumnElement, CursorResult, and_, delete, func, or_, select, update
from sqlalchemy.orm import Session

from panel.errors import NotAllowed
from panel.kinds import KEY_IS_SECRET, SessionStatus
from panel.records.deed import deed
from panel.records.signed_figures import clear_digests, digests_of_releases
from panel.records.traces import rename, speaks_of, still_named
from panel.store.answers import Answer, AnswerChange
from panel.store.base import Base
from panel.store.consents import Consent
from panel.store.deed_numbers import BoothDeed
from panel.store.key import KeyRow
from panel.store.log import clear_entries
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.passes import HourPass
from panel.store.people import Person, PersonName, SignInGuard, SignInTry
from panel.store.person_record import entries_about
from panel.store.sessions import (
    BoothSeat,
    FaultMark,
    LeadCall,
    MarkReversal,
    PanelSession,
    Score,
    ScoreChange,
    Serving,
    ServingMark,
    ServingNote,
    SessionAssessor,
)
from panel.store.site_packs import PackSeat
from panel.store.stops import DrawStop, StoppedMark
from panel.store.training import Training
from panel.store.who import person_by_code, refuse_last_lead
from panel.store.word_matches import OwnWordMatch


@dataclass(frozen=True)
class Erasure:
    """What was erased. `pseudonym` stands where the code stood.

    Words of their own are replaced by numbers where their scores stay: how somebody puts a smell
    into words can tell who it was. Sessions with codes of its own on each tray name the tray in
    their key: after the erasure the key of those no longer gives the sealed hash again. It was
    checked when they were revealed.
    """

    pseudonym: str
    log_entries_cleared: int
    scores_kept: int
    scores_deleted: int
    notes_deleted: int
    own_words_cleared: int
    keys_no_longer_checkable: tuple[str, ...]
    releases_no_longer_checkable: tuple[str, ...] = ()
    """Their figures named the person in a sentence: they differ from those that were signed."""
    still_named: tuple[str, ...] = ()
    """Names and words of the house's own that hold the code or the name: only a lead can tell
    whether they mean the person. Never written into the log."""


@dataclass(frozen=True)
class Foreseen:
    """What an erasure would touch. `keys` are sessions whose key names the person's tray."""

    scores: int
    notes: int
    n_own_words: int
    keys: tuple[str, ...]


def foresee(db: Session, code: str) -> Foreseen:
    """Return what an erasure would touch; nothing is changed.

    Raises
    ------
    UnknownRecord, NotAllowed
        As `erase_person`.
    """
    person = person_by_code(db, code)
    _refuse_needed(db, person)
    theirs = select(Serving.id).where(Serving.person_id == person.id)
    notes = select(func.count()).where(ServingNote.serving_id.in_(theirs))
    words = select(func.count()).where(OwnWord.person_id == person.id)
    return Foreseen(
        _count_scores(db, person),
        db.scalar(notes) or 0,
        db.scalar(words) or 0,
        _sessions_of_tray(db, code),
    )


def erase_person(
    db: Session, code: str, *, keep_scores: bool, now: datetime, by: str | None
) -> Erasure:
    """Take a person out of the records within one write transaction.

    With *keep_scores* their scores stay under a pseudonym that nothing leads back from; else the
    scores go too. Notes they wrote go either way: words can tell who wrote them.

    Raises
    ------
    UnknownRecord
        There is nobody of that code.
    NotAllowed
        They sit in a session that is not revealed yet, or are the only lead; or whoever acts
        does not lead.
    """
    with deed(db, "person erased", now=now, by=by) as done:
        name = _name_of(db, code)
        gone = _erase(db, code, on=done.on, keep_scores=keep_scores)
        done.by = gone.pseudonym if done.by == code else done.by
        done.details.update(_for_the_log(gone, code, name))
    return gone


def _name_of(db: Session, code: str) -> str | None:
    return db.scalar(select(PersonName.full_name).join(Person).where(Person.code == code))


def _for_the_log(gone: Erasure, code: str, name: str | None) -> dict[str, object]:
    """Return what the log keeps of an erasure: no name of a session that is the person's own."""
    known = [word for word in (code, name) if word]

    def unsaid(names: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(each for each in names if not speaks_of(each, known))

    told = asdict(gone)
    told["keys_no_longer_checkable"] = unsaid(gone.keys_no_longer_checkable)
    told["releases_no_longer_checkable"] = unsaid(gone.releases_no_longer_checkable)
    del told["still_named"]
    return told


def _erase(db: Session, code: str, *, on: date, keep_scores: bool) -> Erasure:
    person = person_by_code(db, code)
    _refuse_needed(db, person)
    name = _name_of(db, code)
    pseudonym = _new_pseudonym(db)
    cleared = _clear_log(db, code)
    sessions = _sessions_of_tray(db, code)
    notes = _delete_words(db, person)
    scores = _count_scores(db, person)
    _drop_drafts(db, person)
    words = _number_words(db, person)
    if not keep_scores:
        _delete_scores(db, person)
    _strip(db, person, on)
    signed = digests_of_releases(db)
    releases = rename(db, code, name, pseudonym)
    cleared += clear_digests(db, signed)
    db.refresh(person)
    kept, gone = (scores, 0) if keep_scores else (0, scores)
    named = still_named(db, code, name)
    return Erasure(
        pseudonym, cleared, kept, gone, notes, words, sessions, releases, still_named=named
    )


def _refuse_needed(db: Session, person: Person) -> None:
    asked = (
        select(PanelSession.name)
        .join(SessionAssessor)
        .where(SessionAssessor.person_id == person.id)
        .where(PanelSession.status.in_(KEY_IS_SECRET))
    )
    if names := sorted(db.scalars(asked)):
        raise NotAllowed(
            f"{person.code} sits in a session that is not revealed yet ({', '.join(names)}). "
            "Reveal it first: its sealed key holds until then."
        )
    refuse_last_lead(db, person)


def _new_pseudonym(db: Session) -> str:
    while True:
        name = f"gone-{secrets.token_hex(3)}"
        if db.scalar(select(Person.id).where(Person.code == name)) is None:
            return name


def _clear_log(db: Session, code: str) -> int:
    return clear_entries(db, entries_about(db, code))


def _delete_words(db: Session, person: Person) -> int:
    """Delete what they wrote and called for, and the seat of their booth."""
    theirs = select(Serving.id).where(Serving.person_id == person.id)
    _delete(db, BoothSeat, BoothSeat.person_id == person.id)
    _delete(db, BoothDeed, BoothDeed.person_id == person.id)
    _delete(db, SignInGuard, SignInGuard.person_id == person.id)
    _delete(db, HourPass, HourPass.person_id == person.id)
    _delete(db, SignInTry, SignInTry.person_id == person.id)
    _delete(db, Consent, Consent.person_id == person.id)
    calls = select(LeadCall.id).where(LeadCall.person_id == person.id)
    db.execute(update(DrawStop).where(DrawStop.call_id.in_(calls)).values(call_id=None))
    _delete(db, LeadCall, LeadCall.person_id == person.id)
    return _delete(db, ServingNote, ServingNote.serving_id.in_(theirs))


def _drop_drafts(db: Session, person: Person) -> None:
    drafts = select(PanelSession.id).where(PanelSession.status == SessionStatus.DRAFT)
    seat = and_(SessionAssessor.person_id == person.id, SessionAssessor.session_id.in_(drafts))
    _delete(db, SessionAssessor, seat)


def _number_words(db: Session, person: Person) -> int:
    """Put a number in the place of each word of theirs; the line and its scores stay one."""
    theirs = db.scalars(select(OwnWord).where(OwnWord.person_id == person.id)).all()
    for named in theirs:
        named.word = f"\n{named.place}"  # twice: no word begins so, and none may stand twice
    db.flush()
    for named in theirs:
        named.word = f"word {named.place}"
    db.flush()
    return len(theirs)


def _count_scores(db: Session, person: Person) -> int:
    return sum(
        db.scalar(
            select(func.count())
            .select_from(table)
            .join(Serving, Serving.id == table.serving_id)
            .where(Serving.person_id == person.id)
        )
        or 0
        for table in (Score, OwnScore, Answer)
    )


def _delete_scores(db: Session, person: Person) -> None:
    theirs = select(Serving.id).where(Serving.person_id == person.id)
    marks = select(ServingMark.id).where(ServingMark.serving_id.in_(theirs))
    _delete(db, MarkReversal, MarkReversal.reverses_id.in_(marks))
    stops = select(DrawStop.id).where(DrawStop.serving_id.in_(theirs))
    _delete(db, StoppedMark, or_(StoppedMark.mark_id.in_(marks), StoppedMark.stop_id.in_(stops)))
    _delete(db, DrawStop, DrawStop.serving_id.in_(theirs))
    given = (Score, ScoreChange, OwnScore, OwnScoreChange, Answer, AnswerChange)
    for table in (*given, FaultMark, ServingMark):
        _delete(db, table, table.serving_id.in_(theirs))
    words = select(OwnWord.id).where(OwnWord.person_id == person.id)
    _delete(db, OwnWordMatch, OwnWordMatch.own_word_id.in_(words))
    _delete(db, OwnWord, OwnWord.person_id == person.id)
    _delete(db, Training, Training.person_id == person.id)
    _delete(db, Serving, Serving.person_id == person.id)
    _delete(db, PackSeat, PackSeat.person_id == person.id)
    _delete(db, SessionAssessor, SessionAssessor.person_id == person.id)
    _delete(db, KeyRow, KeyRow.tray == person.code)


def _delete(db: Session, table: type[Base], which: ColumnElement[bool]) -> int:
    gone = db.execute(delete(table).where(which))
    return cast("CursorResult[object]", gone).rowcount


def _sessions_of_tray(db: Session, code: str) -> tuple[str, ...]:
    asked = select(PanelSession.name).join(KeyRow, KeyRow.session_id == PanelSession.id)
    return tuple(sorted(set(db.scalars(asked.where(KeyRow.tray == code)))))


def _strip(db: Session, person: Person, on: date) -> None:
    db.execute(
        update(SessionAssessor)
        .where(SessionAssessor.person_id == person.id)
        .values(not_at_best=False)
    )
    person.name = None
    person.pin_hash = None
    person.joined_on = None
    person.left_on = on
    person.roles.clear()
    db.flush()

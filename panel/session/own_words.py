"""Own words once the evening is closed: what everybody named, and what a lead says they mean."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session, joinedload

from panel.errors import SessionError, UnknownRecord
from panel.kinds import FINISHED, Role, SessionStatus
from panel.session.found import session_at
from panel.store.finding import nearest_words
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.own_words import OwnScore, OwnWord
from panel.store.sessions import PanelSession, SessionAssessor
from panel.store.who import acting_person
from panel.store.word_matches import OwnWordMatch
from panel.store.word_text import word_key


@dataclass(frozen=True)
class WordLine:
    """One word of one assessor, and the descriptor that a lead confirmed for it."""

    assessor: str
    word: str
    n_scores: int
    descriptor: str | None = None
    confirmed_by: str | None = None
    confirmed_at: datetime | None = None


@dataclass(frozen=True)
class Meaning:
    """That a word of an assessor means a descriptor of the house, or (None) no longer does."""

    assessor: str
    word: str
    descriptor: str | None


def session_words(db: Session, name: str, *, by: str | None) -> tuple[WordLine, ...]:
    """Return every word of a closed session by seat, with what it was confirmed to mean.

    *by* is who looks; None is whoever leads, where only one does.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not closed yet.
    SessionError
        It was scored on the lexicon.
    NotAllowed
        It is not revealed yet, and *by* does not lead.
    """
    session = _closed(db, name)
    if session.status is not SessionStatus.REVEALED:
        acting_person(db, by, Role.LEAD)
    counts = _score_counts(db, session)
    matches = _matches(db, session)
    return tuple(
        _line(named, counts.get(named.id, 0), matches.get(named.id))
        for named in db.scalars(_named(session))
    )


def confirm_word(
    db: Session,
    session: str,
    assessor: str,
    word: str,
    descriptor: str | None,
    *,
    by: str,
    now: datetime,
) -> WordLine:
    """Confirm that an assessor's word means a descriptor of the house; None takes that back.

    Raises as `confirm_words`.
    """
    wish = Meaning(assessor, word, descriptor)
    (line,) = confirm_words(db, session, [wish], by=by, now=now)
    return line


def confirm_words(
    db: Session, session: str, wishes: Sequence[Meaning], *, by: str | None, now: datetime
) -> tuple[WordLine, ...]:
    """Confirm several meanings, all or none; what stood there before is replaced.

    Raises
    ------
    NotAllowed
        *by* does not lead (None is whoever leads, where only one does).
    UnknownRecord, WrongState, SessionError
        No such session, word or descriptor; not closed yet; scored on the lexicon.
    """
    lead = acting_person(db, by, Role.LEAD).code
    held = _closed(db, session)
    counts = _score_counts(db, held)
    lines: list[WordLine] = []
    told: list[list[object]] = []
    for wish in wishes:
        named = _find_word(db, held, wish.assessor, wish.word)
        meant = None if wish.descriptor is None else _find_descriptor(db, wish.descriptor)
        match = _write_match(db, named, meant, by=lead, now=now)
        lines.append(_line(named, counts.get(named.id, 0), match))
        told.append([named.id, meant.name if meant else None])
    details = {"session": session, "words": told}
    append_entry(db, at=now, by=lead, action="own words' meaning settled", details=details)
    return tuple(lines)


def words_by_assessor(db: Session, name: str) -> dict[str, list[str]]:
    """Return the words of each assessor of a closed session, for who writes a match by hand.

    Raises
    ------
    UnknownRecord, WrongState, SessionError
        As `session_words`.
    """
    session = _closed(db, name)
    found: dict[str, list[str]] = {seat.person.code: [] for seat in session.assessors}
    for named in db.scalars(_named(session)):
        found.setdefault(named.person.code, []).append(named.word)
    return found


def _closed(db: Session, name: str) -> PanelSession:
    session = session_at(db, name, *FINISHED, deed="looking at what people named")
    if not session.kind.facts.own_lines:
        raise SessionError(
            f"Session {name!r} was scored on the lexicon: nobody named words of their own. Plan "
            "one with `oakpanel session plan NAME --own-words`."
        )
    return session


def _named(session: PanelSession) -> Select[OwnWord]:
    return (
        select(OwnWord)
        .join(
            SessionAssessor,
            (SessionAssessor.session_id == OwnWord.session_id)
            & (SessionAssessor.person_id == OwnWord.person_id),
        )
        .where(OwnWord.session_id == session.id)
        .order_by(SessionAssessor.seat, OwnWord.place)
        .options(joinedload(OwnWord.person))
    )


def _score_counts(db: Session, session: PanelSession) -> dict[int, int]:
    counted = (
        select(OwnScore.own_word_id, func.count())
        .join(OwnWord, OwnWord.id == OwnScore.own_word_id)
        .where(OwnWord.session_id == session.id)
        .group_by(OwnScore.own_word_id)
    )
    return {word_id: count for word_id, count in db.execute(counted)}


def _matches(db: Session, session: PanelSession) -> dict[int, OwnWordMatch]:
    asked = select(OwnWordMatch).join(OwnWord).where(OwnWord.session_id == session.id)
    found = db.scalars(asked.options(joinedload(OwnWordMatch.descriptor)))
    return {match.own_word_id: match for match in found}


def _line(named: OwnWord, n_scores: int, match: OwnWordMatch | None) -> WordLine:
    if match is None:
        return WordLine(named.person.code, named.word, n_scores)
    return WordLine(
        assessor=named.person.code,
        word=named.word,
        n_scores=n_scores,
        descriptor=match.descriptor.name,
        confirmed_by=match.confirmed_by,
        confirmed_at=match.confirmed_at,
    )


def _find_word(db: Session, session: PanelSession, assessor: str, word: str) -> OwnWord:
    seats = [seat.person.code for seat in session.assessors]
    if assessor not in seats:
        near = nearest_words(assessor, seats)
        raise UnknownRecord(f"{assessor!r} has no seat in session {session.name!r}.{near}")
    theirs = [named for named in db.scalars(_named(session)) if named.person.code == assessor]
    for named in theirs:
        if word_key(named.word) == word_key(word):
            return named
    raise UnknownRecord(_no_such_word(assessor, word, [named.word for named in theirs]))


def _no_such_word(assessor: str, word: str, theirs: Iterable[str]) -> str:
    near = nearest_words(word, theirs)
    return f"{assessor} named no word {word!r}.{near}"


def _find_descriptor(db: Session, name: str) -> Descriptor:
    found = db.scalar(select(Descriptor).where(Descriptor.name == name))
    if found is None:
        near = nearest_words(name, db.scalars(select(Descriptor.name)))
        raise UnknownRecord(f"There is no descriptor {name!r}.{near}")
    return found


def _write_match(
    db: Session, named: OwnWord, meant: Descriptor | None, *, by: str, now: datetime
) -> OwnWordMatch | None:
    match = db.get(OwnWordMatch, named.id)
    if meant is None:
        if match is None:
            raise SessionError(f"Nothing is confirmed for {named.word!r} of {named.person.code}.")
        db.delete(match)
        db.flush()
        return None
    match = match or OwnWordMatch(own_word_id=named.id)
    match.descriptor, match.confirmed_by, match.confirmed_at = meant, by, now
    db.add(match)
    db.flush()
    return match

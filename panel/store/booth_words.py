"""Own words as a booth names them: added, renamed or taken back as long as nothing hangs on them.

As in `panel.store.booth_queries` every function checks in its own transaction that this booth
still holds the seat and that the session is open, and writes one log entry. A word belongs to who
named it: nobody reads or changes another's.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from panel.errors import BoothError
from panel.store.booth_seat import checked_session
from panel.store.booth_tray import Seat
from panel.store.log import append_entry
from panel.store.own_words import OwnScoreChange, OwnWord
from panel.store.sessions import PanelSession
from panel.store.word_text import plain_word, word_fault, word_key


def name_word(db: Session, seat: Seat, typed: str, now: datetime) -> int:
    """Keep a new word of this assessor, as the last of their lines; return its number.

    Raises
    ------
    SeatTaken, WrongState
        Another booth of this assessor, or the session is not open.
    BoothError
        No session of own words, a word that cannot stand, one that is there, or one too many.
    """
    session = _own_words_session(db, seat)
    there = list(db.scalars(words_of(seat)))
    word = _sound(typed, there)
    if session.most_words is not None and len(there) >= session.most_words:
        raise BoothError(f"{session.most_words} words at most here: take back one first.")
    place = max((named.place for named in there), default=0) + 1
    owner = {"session_id": seat.session_id, "person_id": seat.person_id}
    named = OwnWord(**owner, place=place, word=word, named_at=now)
    db.add(named)
    db.flush()
    _log(db, seat, session, named, now, "own word named")
    return named.id


def rename_word(db: Session, seat: Seat, word_id: int, typed: str, now: datetime) -> None:
    """Write a word anew, as long as no glass was ever scored on it. Raises as `name_word`."""
    session = _own_words_session(db, seat)
    named = _unscored(db, seat, word_id)
    others = [other for other in db.scalars(words_of(seat)) if other is not named]
    named.word, named.named_at = _sound(typed, others), now
    db.flush()
    _log(db, seat, session, named, now, "own word renamed")


def take_word_back(db: Session, seat: Seat, word_id: int, now: datetime) -> None:
    """Forget a word that no glass was ever scored on. Raises as `name_word`."""
    session = _own_words_session(db, seat)
    named = _unscored(db, seat, word_id)
    db.delete(named)
    db.flush()
    _log(db, seat, session, named, now, "own word taken back")


def words_of(seat: Seat) -> Select[OwnWord]:
    """Return the question for one assessor's own words in the session, in their order."""
    mine = (OwnWord.session_id == seat.session_id, OwnWord.person_id == seat.person_id)
    return select(OwnWord).where(*mine).order_by(OwnWord.place)


def scored_words(db: Session, seat: Seat) -> frozenset[int]:
    """Return which of the assessor's words a glass was ever scored on, cleared since or not."""
    mine = words_of(seat).with_only_columns(OwnWord.id).order_by(None)
    asked = select(OwnScoreChange.own_word_id).where(OwnScoreChange.own_word_id.in_(mine))
    return frozenset(db.scalars(asked.distinct()))


def _own_words_session(db: Session, seat: Seat) -> PanelSession:
    session = checked_session(db, seat)
    if not session.kind.facts.own_lines:
        raise BoothError(f"{session.name} is scored on the house's descriptors, not in own words.")
    return session


def _unscored(db: Session, seat: Seat, word_id: int) -> OwnWord:
    named = db.scalar(words_of(seat).where(OwnWord.id == word_id))
    if named is None:
        raise BoothError("That is not a word of yours.")
    scored = select(func.count()).where(OwnScoreChange.own_word_id == word_id)
    if db.scalar(scored):
        raise BoothError(f"{named.word!r} has been scored: it stays as it is. Name another word.")
    return named


def _sound(typed: str, others: list[OwnWord]) -> str:
    word = plain_word(typed)
    if fault := word_fault(word):
        raise BoothError(f"Not kept: {fault}.")
    for other in others:
        if word_key(other.word) == word_key(word):
            raise BoothError(f"{other.word!r} is among your words already.")
    return word


def _log(
    db: Session, seat: Seat, session: PanelSession, named: OwnWord, now: datetime, action: str
) -> None:
    details = {"session": session.name, "word": named.id}
    append_entry(db, at=now, by=seat.code, action=action, details=details)

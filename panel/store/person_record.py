"""Everything that is kept about one person, for the person: data protection law gives the right."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import date, datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from panel.store.answers import Answer, AnswerChange
from panel.store.consents import Consent, consents_of
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.log import LogEntry
from panel.store.own_words import OwnScore, OwnScoreChange, OwnWord
from panel.store.people import Person, PersonName
from panel.store.retention import own_mark_is_told
from panel.store.sessions import (
    FaultMark,
    LeadCall,
    PanelSession,
    Score,
    ScoreChange,
    Serving,
    ServingMark,
    ServingNote,
    SessionAssessor,
)
from panel.store.training import Training, trainings_of
from panel.store.who import person_by_code

Record = dict[str, object]


def person_record(
    db: Session, code: str, *, private: bool = False, on: date | None = None
) -> Record:
    """Return all that is kept about the person of that code.

    Health-like facts ("not my best nose today") only with *private*, and with *on* none that is
    past its time on that day. Until a session is revealed its glasses stand under their codes;
    they always do here.
    """
    person = person_by_code(db, code)
    return {
        "code": person.code,
        "name": None if person.name is None else person.name.full_name,
        "roles": [held.role.value for held in person.roles],
        "joined_on": person.joined_on,
        "left_on": person.left_on,
        "has_pin": person.pin_hash is not None,
        "consents": [_consent(consent) for consent in consents_of(db, person)],
        "trainings": [_training(each) for each in trainings_of(db, person)],
        "sessions": [_seat(db, seat, private=private, on=on) for seat in _seats(db, person)],
        "calls": [_call(call) for call in _calls(db, person)],
        "marks_made": [_mark(mark) for mark in _marks(db, person)],
        "log": [_entry(entry) for entry in entries_about(db, person.code)],
    }


def mentions(text: str, code: str) -> bool:
    """Say whether *text* holds *code* as a word of its own (`A1` is not in `A10`)."""
    return re.search(_word(code), text) is not None


def without(text: str, code: str, instead: str) -> str:
    """Return *text* with *instead* wherever a hand wrote *code*, in whatever case."""
    return re.sub(_word(code), instead, text, flags=re.IGNORECASE)


def _word(code: str) -> str:
    return rf"(?<![\w-]){re.escape(code)}(?![\w-])"


def entries_about(db: Session, code: str) -> Iterator[LogEntry]:
    """Yield the entries of the log that speak of a person.

    By their code as a name or a value; in a sentence, where a hand may have written it in any case,
    also by their real name.
    """
    asked = select(PersonName.full_name).join(Person).where(Person.code == code)
    known = [word for word in (code, db.scalar(asked)) if word]
    likely = or_(*(LogEntry.body_json.icontains(_escaped(w), autoescape=True) for w in known))
    if not code.isascii():  # SQLite folds the case of plain letters only
        likely = LogEntry.body_json.is_not(None)
    for entry in db.scalars(select(LogEntry).where(likely).order_by(LogEntry.id)):
        words = list(_words(json.loads(entry.body_json or "null")))
        if any(_is_about(word, code, known) for word in words):
            yield entry


def _is_about(word: str, code: str, known: list[str]) -> bool:
    if " " in word.strip():
        return any(without(word, one, "") != word for one in known)
    return mentions(word, code)


def _escaped(word: str) -> str:
    return json.dumps(word, ensure_ascii=False)[1:-1]


def _words(body: object) -> Iterator[str]:
    if isinstance(body, str):
        yield body
    elif isinstance(body, dict):
        for name, value in body.items():
            yield str(name)
            yield from _words(value)
    elif isinstance(body, list):
        for value in body:
            yield from _words(value)


def _moment(at: datetime | None) -> str | None:
    """A moment as this document writes it, with a space before the hour."""
    return None if at is None else str(at)


def _seats(db: Session, person: Person) -> list[SessionAssessor]:
    asked = select(SessionAssessor).join(PanelSession).where(SessionAssessor.person_id == person.id)
    return list(db.scalars(asked.order_by(PanelSession.held_on, PanelSession.name)))


def _consent(consent: Consent) -> Record:
    return {
        "given_on": consent.given_on,
        "text_version": consent.text_version,
        "keeps_scores": consent.keeps_scores,
        "withdrawn_on": consent.withdrawn_on,
    }


def _training(training: Training) -> Record:
    return {"begun_on": training.begun_on, "taken_in_on": training.taken_in_on}


def _seat(db: Session, seat: SessionAssessor, *, private: bool, on: date | None) -> Record:
    told: Record = {
        "session": seat.session.name,
        "held_on": seat.session.held_on,
        "status": seat.session.status.value,
        "seat": seat.seat,
        "knew_key": seat.knew_key,
        "finished_at": _moment(seat.finished_at),
        "own_words": [word.word for word in _own_words(db, seat)],
        "glasses": [_glass(db, serving) for serving in _servings(db, seat)],
    }
    if not private:
        return told
    still = on is None or own_mark_is_told(db, seat.session, on)
    return {**told, "not_at_best": seat.not_at_best and still}


def _servings(db: Session, seat: SessionAssessor) -> list[Serving]:
    asked = select(Serving).where(
        Serving.session_id == seat.session_id, Serving.person_id == seat.person_id
    )
    return list(db.scalars(asked.order_by(Serving.flight, Serving.position, Serving.id)))


def _glass(db: Session, serving: Serving) -> Record:
    from panel.store.passed_glasses import passed  # reads the key: no booth loads it

    note = db.get(ServingNote, serving.id)
    faults = select(FaultMark.fault).where(FaultMark.serving_id == serving.id)
    marked = [fault.value for fault in db.scalars(faults)]
    return {
        "code": serving.code,
        "read_as": serving.read_as,
        "flight": serving.flight,
        "position": serving.position,
        "status": serving.status.value,
        "taken_at": _moment(serving.taken_at),
        "finished_at": _moment(serving.finished_at),
        "scores": _scores(db, serving),
        "changes": _changes(db, serving),
        "own_scores": _own_scores(db, serving),
        "own_changes": _own_changes(db, serving),
        "answers": _answers(db, serving),
        "answer_changes": _answer_changes(db, serving),
        "passed": passed(serving, held=bool(marked)),
        "faults": marked,
        "note": None if note is None else note.text,
    }


def _scores(db: Session, serving: Serving) -> Record:
    asked = (
        select(Descriptor.name, Score.value)
        .join(DescriptorVersion, DescriptorVersion.descriptor_id == Descriptor.id)
        .join(Score, Score.descriptor_version_id == DescriptorVersion.id)
        .where(Score.serving_id == serving.id)
    )
    return {name: value for name, value in db.execute(asked)}


def _changes(db: Session, serving: Serving) -> list[Record]:
    asked = (
        select(Descriptor.name, ScoreChange.value, ScoreChange.changed_at)
        .join(DescriptorVersion, DescriptorVersion.descriptor_id == Descriptor.id)
        .join(ScoreChange, ScoreChange.descriptor_version_id == DescriptorVersion.id)
        .where(ScoreChange.serving_id == serving.id)
        .order_by(ScoreChange.id)
    )
    return [
        {"descriptor": name, "score": value, "changed_at": _moment(at)}
        for name, value, at in db.execute(asked)
    ]


def _answers(db: Session, serving: Serving) -> list[Record]:
    asked = select(Answer).where(Answer.serving_id == serving.id).order_by(Answer.question)
    return [_answer(each.question, each.value, each.given_at) for each in db.scalars(asked)]


def _answer_changes(db: Session, serving: Serving) -> list[Record]:
    asked = select(AnswerChange).where(AnswerChange.serving_id == serving.id)
    rows = db.scalars(asked.order_by(AnswerChange.id))
    return [_answer(each.question, each.value, each.changed_at) for each in rows]


def _answer(question: int, value: float | None, at: datetime) -> Record:
    return {"question": question, "answer": value, "given_at": _moment(at)}


def _own_words(db: Session, seat: SessionAssessor) -> list[OwnWord]:
    asked = select(OwnWord).where(
        OwnWord.session_id == seat.session_id, OwnWord.person_id == seat.person_id
    )
    return list(db.scalars(asked.order_by(OwnWord.place)))


def _own_scores(db: Session, serving: Serving) -> Record:
    asked = (
        select(OwnWord.word, OwnScore.value)
        .join(OwnScore, OwnScore.own_word_id == OwnWord.id)
        .where(OwnScore.serving_id == serving.id)
        .order_by(OwnWord.place)
    )
    return {word: value for word, value in db.execute(asked)}


def _own_changes(db: Session, serving: Serving) -> list[Record]:
    asked = (
        select(OwnWord.word, OwnScoreChange.value, OwnScoreChange.changed_at)
        .join(OwnScoreChange, OwnScoreChange.own_word_id == OwnWord.id)
        .where(OwnScoreChange.serving_id == serving.id)
        .order_by(OwnScoreChange.id)
    )
    return [
        {"word": word, "score": value, "changed_at": _moment(at)}
        for word, value, at in db.execute(asked)
    ]


def _calls(db: Session, person: Person) -> list[LeadCall]:
    return list(db.scalars(select(LeadCall).where(LeadCall.person_id == person.id)))


def _call(call: LeadCall) -> Record:
    return {
        "reason": call.reason.value,
        "called_at": _moment(call.called_at),
        "answered_at": _moment(call.answered_at),
    }


def _marks(db: Session, person: Person) -> list[ServingMark]:
    return list(db.scalars(select(ServingMark).where(ServingMark.by_code == person.code)))


def _mark(mark: ServingMark) -> Record:
    return {"status": mark.status.value, "marked_at": _moment(mark.marked_at), "note": mark.note}


def _entry(entry: LogEntry) -> Record:
    return {
        "number": entry.id,
        "at": _moment(entry.written_at),
        "body": json.loads(entry.body_json or "null"),
    }

"""Every glass of a closed session, and every glass of a cask over the years, as it was scored.

Before the reveal a glass is its code: neither what was in it nor what was written about it is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Select, and_, or_, select
from sqlalchemy.orm import Session

from analysis.as_json import AsJson
from panel.kinds import KIND_FACTS, ServingStatus, SessionStatus
from panel.questions.cask_life import find_cask
from panel.session.found import session_at
from panel.session.reopened import AfterReopening, after_reopening
from panel.store.answers import ONLY_QUESTION, Answer
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.key import KeyRow, behind_serving
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.own_words import OwnScore, OwnWord
from panel.store.passed_glasses import passed
from panel.store.people import Person
from panel.store.retention import own_mark_is_told
from panel.store.sessions import (
    FaultMark,
    PanelSession,
    Score,
    Serving,
    ServingNote,
    SessionAssessor,
)
from panel.store.stage_lines import in_order, stage_lines
from panel.store.word_text import plain_word

TOLD = (SessionStatus.CLOSED, SessionStatus.REVEALED)
AFTER_REVEAL = "told once the session is revealed"
OF_SERVING = (
    *("flight", "position", "code", "read_as", "pouring", "warm_up", "taken_at", "finished_at"),
)
KEPT_APART = "close to health: `--private` tells it to a lead, who types their PIN"
DROPPED = "kept for some days only, and over (setting own_mark_days)"


@dataclass(frozen=True)
class Glass(AsJson):
    """One glass as one assessor scored it; `scores` by note, as they were given.

    `draw`, `cask`, `kind`, `replicate` and `note` are missing before the reveal, `cask` too where
    the glass came from none. `read_as` is the other code, where two had changed places. `place` is
    what it was given in its set, which is its flight; `passed` whether it was passed or held, where
    glasses are.
    """

    session: str
    held_on: date | None
    assessor: str
    knew_key: bool
    flight: int
    position: int | None
    code: str
    read_as: str | None
    pouring: int
    warm_up: bool
    state: ServingStatus
    taken_at: datetime | None
    finished_at: datetime | None
    draw: str | None
    cask: str | None
    kind: str | None
    replicate: int | None
    scores: Mapping[str, float]
    faults: tuple[str, ...]
    note: str | None
    place: int | None = None
    passed: bool | None = None

    json_also = ("minutes_in_hand",)

    @property
    def minutes_in_hand(self) -> float | None:
        """From taken to finished; None where one of the two is not known."""
        if self.taken_at is None or self.finished_at is None:
            return None
        return (self.finished_at - self.taken_at).total_seconds() / 60.0


@dataclass(frozen=True)
class SessionGlasses(AsJson):
    """The glasses of one session: by what they are read as, then by assessor.

    `not_at_best` is who was not at their best that day; None unless a lead has proved it, and once
    it is past its time.
    """

    session: str
    held_on: date | None
    status: SessionStatus
    notes: tuple[str, ...]
    glasses: tuple[Glass, ...]
    not_at_best: tuple[str, ...] | None = None
    past: bool = False
    after_reopening: AfterReopening | None = None

    json_keys = (
        *("session", "held_on", "status", "notes", "glasses", "glasses_reason"),
        *("not_at_best", "not_at_best_reason", "after_reopening"),
    )

    @property
    def glasses_reason(self) -> str | None:
        """Why it is not told what was in them, nor what was written about them."""
        return None if self.status is SessionStatus.REVEALED else AFTER_REVEAL

    @property
    def not_at_best_reason(self) -> str | None:
        """Why it is not told who was not at their best."""
        if self.not_at_best is not None:
            return None
        return DROPPED if self.past else KEPT_APART


def session_glasses(db: Session, name: str, *, private_on: date | None = None) -> SessionGlasses:
    """Return every glass of a closed or revealed session.

    With *private_on*, today, who was not at their best too: once a lead has proved who they are.

    Raises
    ------
    UnknownRecord, WrongState
        There is no session of that name, or it is not closed yet: who sees scores before can
        lean on those who still nose.
    """
    session = session_at(db, name, *TOLD, deed="reading its scores")
    revealed = session.status is SessionStatus.REVEALED
    glasses = _glasses(db, Serving.session_id == session.id, revealed=revealed)
    told = None if private_on is None else _not_at_best(db, session, private_on)
    return SessionGlasses(
        session.name,
        session.held_on,
        session.status,
        _notes_of(session, glasses),
        tuple(sorted(glasses, key=lambda each: _order(each, revealed=revealed))),
        told,
        past=private_on is not None and told is None,
        after_reopening=after_reopening(db, name),
    )


def not_at_best(db: Session, name: str, on: date) -> tuple[str, ...] | None:
    """Return who marked that they were not at their best: for a lead who has proved it.

    None once that is past its time. It is told of one session, and never counted over several.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    return _not_at_best(db, find_session(db, name), on)


def cask_glasses(db: Session, number: str, *, as_of: date) -> tuple[Glass, ...]:
    """Return every glass from one cask that a revealed session held by a day has nosed.

    Raises
    ------
    UnknownRecord
        There is no such cask.
    """
    cask = find_cask(db, number)
    until = or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of)
    told = PanelSession.status == SessionStatus.REVEALED
    of_cask = _glasses(db, Cask.id == cask.id, until, told, revealed=True)
    return tuple(sorted(of_cask, key=lambda each: (str(each.held_on), *_order(each))))


def _order(glass: Glass, *, revealed: bool = True) -> tuple[Any, ...]:
    read = glass.read_as or glass.code
    first = (not glass.warm_up, glass.draw or "", glass.replicate or 0) if revealed else ()
    return (*first, read, glass.assessor, glass.pouring)


def _notes_of(session: PanelSession, glasses: list[Glass]) -> tuple[str, ...]:
    """Return the lines that were scored: the sheet's in its order, own words as they come."""
    lines = in_order(session.descriptors) if session.kind.facts.scored_on_lines else []
    sheet = [line.descriptor_version.descriptor.name for line in lines]
    own = [note for glass in glasses for note in glass.scores]
    return tuple(dict.fromkeys([*sheet, *own]))


def _not_at_best(db: Session, session: PanelSession, on: date) -> tuple[str, ...] | None:
    if not own_mark_is_told(db, session, on):
        return None
    return tuple(seat.person.code for seat in session.assessors if seat.not_at_best)


def _glasses(db: Session, *which: ColumnElement[bool], revealed: bool) -> list[Glass]:
    rows = db.execute(_asked(*which)).all()
    ids = [serving.id for serving, *_ in rows]
    scores, faults, notes = _scores(db, ids), _faults(db, ids), _written(db, ids)
    places = _places(db, ids)
    glasses = []
    for serving, session, code, knew, label, cask, kind, replicate in rows:
        glasses.append(
            Glass(
                session=session.name,
                held_on=session.held_on,
                assessor=code,
                knew_key=bool(knew),
                **{name: getattr(serving, name) for name in OF_SERVING},
                state=serving.status,
                draw=label if revealed else None,
                cask=cask if revealed else None,
                kind=_kind(kind) if revealed else None,
                replicate=replicate if revealed else None,
                scores=scores.get(serving.id, {}),
                faults=faults.get(serving.id, ()),
                note=notes.get(serving.id) if revealed else None,
                place=places.get(serving.id),
                passed=passed(serving, held=serving.id in faults),
            )
        )
    return glasses


def _kind(kind: Any) -> str | None:
    return None if kind is None else str(kind.value)


def _asked(*which: ColumnElement[bool]) -> Select[Any]:
    told: list[Any] = [Serving, PanelSession, Person.code, SessionAssessor.knew_key]
    told += [Draw.label, Cask.number, KeyRow.kind, KeyRow.replicate]
    seat = and_(
        SessionAssessor.session_id == Serving.session_id,
        SessionAssessor.person_id == Serving.person_id,
    )
    return (
        select(*told)
        .join(Person, Person.id == Serving.person_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .outerjoin(SessionAssessor, seat)
        .outerjoin(KeyRow, behind_serving())
        .outerjoin(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .where(*which)
    )


def _scores(db: Session, ids: list[int]) -> dict[int, dict[str, float]]:
    """Return the scores of glasses by note: on the lexicon or in own words."""
    on_sheet = (
        select(Score.serving_id, Descriptor.name, Score.value)
        .join(DescriptorVersion, DescriptorVersion.id == Score.descriptor_version_id)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .where(Score.serving_id.in_(ids))
        .order_by(Descriptor.name)
    )
    in_own = (
        select(OwnScore.serving_id, OwnWord.word, OwnScore.value)
        .join(OwnWord, OwnWord.id == OwnScore.own_word_id)
        .where(OwnScore.serving_id.in_(ids))
        .order_by(OwnWord.word)
    )
    found: dict[int, dict[str, float]] = {}
    for asked in (on_sheet, in_own):
        for serving_id, note, value in db.execute(asked):
            found.setdefault(serving_id, {})[note] = value
    for serving_id, note, value in _by_stage(db, ids):
        found.setdefault(serving_id, {})[note] = value
    return found


def _by_stage(db: Session, ids: list[int]) -> Iterator[tuple[int, str, float]]:
    """Give what notes were given at the stages that they do not belong to in the lexicon."""
    staged = [kind for kind, facts in KIND_FACTS.items() if facts.staged]
    held = select(PanelSession).join(Serving).where(Serving.id.in_(ids))
    for session in db.scalars(held.where(PanelSession.kind.in_(staged)).distinct()):
        lines = {line.question: line.name for line in stage_lines(session.descriptors)}
        mine = select(Serving.id).where(Serving.id.in_(ids), Serving.session_id == session.id)
        asked = select(Answer).where(Answer.serving_id.in_(list(db.scalars(mine))))
        for answer in db.scalars(asked.order_by(Answer.question)):
            yield answer.serving_id, lines[answer.question], answer.value


def _places(db: Session, ids: list[int]) -> dict[int, int]:
    """Return the places that glasses were given in their sets."""
    in_sets = [kind for kind, facts in KIND_FACTS.items() if facts.in_sets]
    asked = (
        select(Answer.serving_id, Answer.value)
        .join(Serving, Serving.id == Answer.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .where(Answer.question == ONLY_QUESTION, PanelSession.kind.in_(in_sets))
    )
    rows = db.execute(asked.where(Answer.serving_id.in_(ids)))
    return {glass: int(value) for glass, value in rows}


def _faults(db: Session, ids: list[int]) -> dict[int, tuple[str, ...]]:
    asked = select(FaultMark.serving_id, FaultMark.fault).where(FaultMark.serving_id.in_(ids))
    found: dict[int, tuple[str, ...]] = {}
    for serving_id, fault in db.execute(asked):
        found[serving_id] = tuple(sorted((*found.get(serving_id, ()), fault.value)))
    return found


def _written(db: Session, ids: list[int]) -> dict[int, str]:
    asked = select(ServingNote.serving_id, ServingNote.text)
    rows = db.execute(asked.where(ServingNote.serving_id.in_(ids)))
    return {glass: plain_word(text) for glass, text in rows}

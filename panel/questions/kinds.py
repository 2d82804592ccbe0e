"""The registry by kind of session of those who ask: which answer says whether it can be trusted."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any, Protocol

from panel.kinds import SessionKind
from panel.questions.agreement import session_agreement
from panel.questions.own_words import words_agreement
from panel.questions.passing import passing_answer
from panel.questions.sets import difference_found, ranking_found
from panel.questions.stages import stages_found
from panel.questions.traces import traces_found
from panel.store.finding import find_session

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


class Answer(Protocol):
    """What can be said of a session, whatever its kind; private facts only where asked for."""

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values, ready for JSON."""


ANSWERS: dict[SessionKind, Callable[[Session, str, date | None, int], Answer]] = {
    SessionKind.PROFILE: lambda db, name, as_of, seed: session_agreement(
        db, name, as_of=as_of, seed=seed
    ),
    SessionKind.OWN_WORDS: lambda db, name, _as_of, seed: words_agreement(db, name, seed=seed),
    SessionKind.PASSING: lambda db, name, _as_of, _seed: passing_answer(db, name),
    SessionKind.STRONGER: lambda db, name, _as_of, _seed: difference_found(db, name),
    SessionKind.TWO_AND_TWO: lambda db, name, _as_of, _seed: difference_found(db, name),
    SessionKind.RANKING: lambda db, name, _as_of, seed: ranking_found(db, name, seed=seed),
    SessionKind.TRACE: lambda db, name, _as_of, _seed: traces_found(db, name),
    SessionKind.ODD_ONE_OUT: lambda db, name, _as_of, _seed: difference_found(db, name),
    SessionKind.LIKE_THE_FIRST: lambda db, name, _as_of, _seed: difference_found(db, name),
    SessionKind.STAGES: lambda db, name, as_of, seed: stages_found(
        db, name, as_of=as_of, seed=seed
    ),
}


def kind_of(db: Session, name: str) -> SessionKind:
    """Return the kind of a session.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    return find_session(db, name).kind


def session_answer(db: Session, name: str, *, as_of: date | None = None, seed: int = 1) -> Answer:
    """Return whether a closed or revealed session can be trusted, as its kind is judged.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not closed yet.
    """
    return ANSWERS[kind_of(db, name)](db, name, as_of, seed)

"""The registry by kind of session of the bridge to the analysis: which frame its scores make."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from panel.frames.own_words import own_words_frame
from panel.frames.passing import passing_frame
from panel.frames.scores import scores_frame
from panel.frames.sets import sets_frame
from panel.frames.traces import traces_frame
from panel.kinds import SessionKind
from panel.store.finding import find_session

if TYPE_CHECKING:
    import pandas as pd


def _scores(db: Session, name: str, as_of: date | None) -> pd.DataFrame:
    return scores_frame(db, sessions=[name], as_of=as_of)


def _own_words(db: Session, name: str, _as_of: date | None) -> pd.DataFrame:
    return own_words_frame(db, name)


def _passing(db: Session, name: str, _as_of: date | None) -> pd.DataFrame:
    return passing_frame(db, name)


def _sets(db: Session, name: str, _as_of: date | None) -> pd.DataFrame:
    return sets_frame(db, name)


def _traces(db: Session, name: str, _as_of: date | None) -> pd.DataFrame:
    return traces_frame(db, name)


FRAMES: dict[SessionKind, Callable[[Session, str, date | None], pd.DataFrame]] = {
    SessionKind.PROFILE: _scores,
    SessionKind.OWN_WORDS: _own_words,
    SessionKind.PASSING: _passing,
    SessionKind.STRONGER: _sets,
    SessionKind.TWO_AND_TWO: _sets,
    SessionKind.RANKING: _sets,
    SessionKind.TRACE: _traces,
    SessionKind.ODD_ONE_OUT: _sets,
    SessionKind.LIKE_THE_FIRST: _sets,
    SessionKind.STAGES: _scores,
}


def session_frame(db: Session, name: str, *, as_of: date | None = None) -> pd.DataFrame:
    """Return the scores of one session in the frame of its kind.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    return FRAMES[find_session(db, name).kind](db, name, as_of)

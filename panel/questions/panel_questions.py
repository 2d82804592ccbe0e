"""Questions about the panel put to the records: a span of sessions, own words, one evening."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import or_, select

from panel.errors import UnknownRecord, WrongState
from panel.kinds import FINISHED, SessionStatus, pooled_kinds
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.agreement import AgreementSettings, EveningNote, Span
    from analysis.agreement.own_words import OwnWords


@dataclass(frozen=True)
class WordsFound:
    """A session in own words, and what a lead has confirmed of it.

    `confirmed` holds the house's descriptor by assessor and word.
    """

    result: OwnWords
    confirmed: Mapping[tuple[str, str], str]

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values, each word with the descriptor a lead confirmed for it.

        Nothing in it is private.
        """
        found = self.result.to_dict()
        for word in found["words"]:
            word["confirmed"] = self.confirmed.get((word["assessor"], word["word"]))
        return found


def sessions_between(db: Session, since: date | None, until: date | None) -> list[str]:
    """Return the closed or revealed sessions held in a span of dates, oldest first.

    Raises
    ------
    UnknownRecord
        None was held then.
    """
    query = select(PanelSession.name).where(PanelSession.status.in_(FINISHED))
    query = query.where(PanelSession.kind.in_(pooled_kinds()))
    if since is not None:
        query = query.where(PanelSession.held_on >= since)
    if until is not None:
        query = query.where(PanelSession.held_on <= until)
    names = list(db.scalars(query.order_by(PanelSession.held_on, PanelSession.id)))
    if not names:
        parts = [
            *([f"from {since} on"] if since is not None else []),
            *([f"up to {until}"] if until is not None else []),
        ]
        raise UnknownRecord(
            f"No session {' '.join(parts)} is closed yet. `oakpanel session list` has the dates."
        )
    return names


def span_agreement(
    db: Session,
    names: Sequence[str],
    *,
    as_of: date | None = None,
    seed: int = 1,
    progress: Callable[[int, int], None] | None = None,
) -> Span:
    """Return what several sessions say together.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; one still open; or one whose lines no other has.
    """
    from analysis.agreement import assess_span
    from panel.frames import finished_session, recent_sessions, scores_frame

    found = [finished_session(db, name) for name in names]
    for name, session in zip(names, found, strict=True):
        if not session.kind.facts.pooled:
            raise WrongState(
                f"Session {name} was {session.kind.facts.scored} and cannot be laid beside others: "
                f"`oakpanel agreement {name}` judges it alone."
            )
    scores = scores_frame(db, sessions=list(names), as_of=as_of)
    first = min(found, key=lambda session: (session.held_on or date.max, session.id))
    before = [name for name in recent_sessions(db, first.name, 6) if name not in names]
    earlier = scores_frame(db, sessions=before, as_of=as_of) if before else None
    coded = [session.name for session in found if session.status is SessionStatus.CLOSED]
    return assess_span(
        scores,
        earlier=earlier,
        settings=_settings(db),
        seed=seed,
        coded=coded,
        progress=progress,
    )


def words_agreement(db: Session, name: str, *, seed: int = 1) -> WordsFound:
    """Return the map of a session in own words, its words beside the house's notes.

    Before the reveal the samples are codes, so nothing of the house's is laid beside them.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; not closed yet; or scored on the lexicon.
    """
    from analysis.agreement.own_words import assess_own_words
    from panel.frames import find_session, own_words_frame

    words = own_words_frame(db, name)
    revealed = find_session(db, name).status is SessionStatus.REVEALED
    house = _house_scores(db, set(words["sample"])) if revealed else None
    result = assess_own_words(words, house=house, settings=_settings(db), seed=seed)
    return WordsFound(result, _confirmed(db, name) if revealed else {})


def _house_scores(db: Session, samples: set[str]) -> pd.DataFrame | None:
    """All that revealed sessions know of some samples; None when it is nothing."""
    from panel.frames import scores_frame

    scores = scores_frame(db, revealed_only=True)
    known = scores[scores["sample"].isin(list(samples))]
    return known if len(known) else None


def _confirmed(db: Session, name: str) -> dict[tuple[str, str], str]:
    from panel.session.own_words import session_words

    return {
        (line.assessor, line.word): line.descriptor
        for line in session_words(db, name, by=None)
        if line.descriptor is not None
    }


def evening_note_of(
    db: Session, name: str, assessor: str, *, as_of: date | None = None, seed: int = 1
) -> EveningNote:
    """Return what one assessor takes home from a revealed session.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; or not revealed yet: the note tells what was in the glasses.
    """
    from analysis.agreement import evening_note
    from panel.frames import find_session, scores_frame
    from panel.questions.reckoning import session_agreement

    session = find_session(db, name)
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: the notes to the assessors tell what was "
            f"in the glasses, so they come after `oakpanel session reveal {name}`."
        )
    agreement = session_agreement(db, name, as_of=as_of, seed=seed)
    scores = scores_frame(db, sessions=[name], as_of=as_of)
    earlier = _earlier(db, session)
    recent = scores_frame(db, sessions=earlier, as_of=as_of) if earlier else None
    return evening_note(agreement, scores, recent, assessor, settings=_settings(db))


def _earlier(db: Session, session: PanelSession) -> list[str]:
    """Every revealed session before one, for a person's own way."""
    query = select(PanelSession.name).where(
        PanelSession.status == SessionStatus.REVEALED, PanelSession.id != session.id
    )
    if session.held_on is not None:
        before = PanelSession.held_on < session.held_on
        query = query.where(or_(PanelSession.held_on.is_(None), before))
    return list(db.scalars(query))


def _settings(db: Session) -> AgreementSettings:
    from analysis.agreement import AgreementSettings
    from panel.store.house import number_setting

    return AgreementSettings(tolerance=number_setting(db, "alike_tolerance"))

"""How far a panel can be trusted: one session, a span of them, one evening of one person."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import or_, select

from panel.errors import WrongState
from panel.frames.judging import agreement_settings
from panel.kinds import SessionStatus
from panel.store.sessions import PanelSession
from panel.store.training import is_exercise

if TYPE_CHECKING:
    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.agreement import Agreement, AgreementSettings, EveningNote, Span
    from analysis.agreement.sessions.span_result import BeforeSpan

TO_DATE = 40
"""Sessions that an evening is laid beside: enough to know a panel, and the panel of these years."""


def session_agreement(
    db: Session, name: str, *, as_of: date | None = None, seed: int = 1
) -> Agreement:
    """Return the agreement of a closed or revealed session, beside those revealed before it.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; still open, when only its progress is shown; or scored in own words.
    """
    from analysis.agreement import assess_agreement
    from panel.frames import (
        finished_session,
        n_doubled,
        recent_sessions,
        scores_frame,
        session_frame,
    )
    from panel.kept.answers import kept_answer, once

    session = finished_session(db, name)
    if session.kind.facts.own_lines:
        raise WrongState(
            f"Session {name} was scored in own words, and nobody shares a line with another: "
            f"`oakpanel agreement {name}` lays the words out, "
            f"`oakpanel session words {name}` lists them."
        )
    _refuse_exercise(db, session)
    coded = session.status is not SessionStatus.REVEALED

    def read() -> tuple[pd.DataFrame, pd.DataFrame | None, AgreementSettings]:
        to_date = recent_sessions(db, name, TO_DATE)
        earlier = [other for other in to_date if other != name]
        recent = scores_frame(db, sessions=earlier, as_of=as_of) if earlier else None
        return session_frame(db, name, as_of=as_of), recent, agreement_settings(db)

    def judge() -> Agreement:
        scores, recent, settings = reads()
        n_hidden = n_doubled(db, session) if coded else 0
        return assess_agreement(
            scores, recent=recent, settings=settings, seed=seed, coded=coded, n_hidden=n_hidden
        )

    reads = once(read)
    options = [name, as_of, seed, TO_DATE]
    return kept_answer(db, "agreement", options=options, reads=reads, reckon=judge, keeps=not coded)


def _refuse_exercise(db: Session, session: PanelSession) -> None:
    """A session of people in training alone has no panel that could agree."""
    people = [seat.person for seat in session.assessors]
    if is_exercise(db, session):
        codes = ", ".join(who.code for who in people)
        raise WrongState(
            f"{session.name} was an exercise: {codes} were in training, and there is no panel in "
            f"it to agree. `oakpanel training show {people[0].code}` holds it against the panel's "
            "own values, once it is revealed."
        )


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
    from panel.kept.answers import kept_answer, once
    from panel.questions.sessions import nosed_by

    found = [finished_session(db, name) for name in names]
    for name, session in zip(names, found, strict=True):
        if not session.kind.facts.pooled:
            raise WrongState(
                f"Session {name} was {session.kind.facts.scored} and cannot be laid beside others: "
                f"`oakpanel agreement {name}` judges it alone."
            )
    first = min(found, key=lambda session: (session.held_on or date.max, session.id))
    coded = [session.name for session in found if session.status is SessionStatus.CLOSED]

    def read() -> tuple[pd.DataFrame, pd.DataFrame | None, AgreementSettings]:
        before = [name for name in recent_sessions(db, first.name, 6) if name not in names]
        earlier = scores_frame(db, sessions=before, as_of=as_of) if before else None
        scores = scores_frame(db, sessions=list(names), as_of=as_of)
        return scores, earlier, agreement_settings(db)

    def judge() -> Span:
        scores, earlier, settings = reads()
        with nosed_by(db, as_of):
            return assess_span(
                scores,
                earlier=earlier,
                settings=settings,
                seed=seed,
                coded=coded,
                progress=progress,
            )

    reads = once(read)
    options = [sorted(names), as_of, seed]
    span = kept_answer(db, "span", options=options, reads=reads, reckon=judge, keeps=not coded)
    return replace(span, before=_before(db, first, names))


def _before(db: Session, first: PanelSession, names: Sequence[str]) -> BeforeSpan | None:
    """Return which sessions that could be judged with these were held before the first."""
    from analysis.agreement.sessions.span_result import BeforeSpan
    from panel.questions.sessions import finished_before

    found = [one for one in finished_before(db, first) if one.name not in names]
    if not found:
        return None
    return BeforeSpan(len(found), str(found[0].held_on), str(found[-1].held_on))


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
    return evening_note(agreement, scores, recent, assessor, settings=agreement_settings(db))


def _earlier(db: Session, session: PanelSession) -> list[str]:
    """Every revealed session before one, for a person's own way."""
    query = select(PanelSession.name).where(
        PanelSession.status == SessionStatus.REVEALED, PanelSession.id != session.id
    )
    if session.held_on is not None:
        before = PanelSession.held_on < session.held_on
        query = query.where(or_(PanelSession.held_on.is_(None), before))
    return list(db.scalars(query))

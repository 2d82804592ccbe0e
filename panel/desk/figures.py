"""What the desk's slow answers are made of: agreement of a session, casks that suit a target."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.frames import casks_frame, finished_session, recent_sessions, scores_frame, target_of
from panel.store.house import number_setting

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.agreement import Agreement
    from analysis.target import Match


def session_agreement(db: Session, name: str) -> Agreement:
    """Return the agreement of a closed or revealed session.

    Raises
    ------
    WrongState
        The session is still open: its figures would steer it.
    """
    from analysis.agreement import AgreementSettings, assess_agreement

    finished_session(db, name)
    settings = AgreementSettings(tolerance=number_setting(db, "alike_tolerance"))
    earlier = [other for other in recent_sessions(db, name) if other != name]
    recent = scores_frame(db, sessions=earlier) if earlier else None
    return assess_agreement(scores_frame(db, sessions=[name]), recent=recent, settings=settings)


def casks_that_suit(db: Session, target: str, as_of: date) -> Match:
    """Return the casks that suit a target, best first."""
    from analysis.profile import estimate_profile
    from analysis.target import match_casks

    aim = target_of(db, target)
    profile = estimate_profile(scores_frame(db, as_of=as_of), as_of=as_of)
    return match_casks(profile, aim, casks=casks_frame(db, as_of))

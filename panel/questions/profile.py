"""What each sample is, over all revealed sessions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile


def house_profile(db: Session, *, as_of: date, start: Profile | None = None) -> Profile:
    """Return what each sample is, over all revealed sessions held by *as_of*.

    `start` is an earlier profile that the fit may begin from.
    """
    from analysis.agreement.sessions.warned_profile import warned_profile
    from panel.frames import scores_frame

    scores = scores_frame(db, as_of=as_of, revealed_only=True)
    return warned_profile(scores, as_of=as_of, start=start)

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
    from analysis.profile.compared import compared_first
    from panel.frames import scores_frame

    scores = scores_frame(db, as_of=as_of, revealed_only=True)
    found = warned_profile(scores, as_of=as_of, start=start)
    if found.compared is None and not (found.estimates["component"] > 0).any():
        return found
    return compared_first(found, _usable_fillings(db, as_of))


def _usable_fillings(db: Session, as_of: date) -> list[str]:
    """Fillings that may be used now, unasked."""
    from analysis.on_stock.barred import barred_fillings
    from analysis.profile.latest import in_cask
    from panel.frames import casks_frame

    casks = in_cask(casks_frame(db, as_of))
    barred = barred_fillings(casks)
    return [name for name in casks["filling"].astype(str) if name not in barred]

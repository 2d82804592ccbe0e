"""What would change your mind about a vatting: on which of its parts it hangs, by which glass."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import VatMind
    from analysis.profile import Profile
    from analysis.target import Target
    from panel.questions.next_planners import VatAsked
    from panel.questions.vatting import HouseStock


def would_change(
    db: Session, vat: VatAsked, *, as_of: date, profile: Profile | None = None
) -> VatMind | None:
    """Return what the next session could change about a vatting; None where nobody nosed or can.

    The session is the one that tells most about it, in the room that the house has for it: the
    same that `session next --vat` proposes of a release.

    Raises
    ------
    OakpanelError
        A part is no longer in cask.
    """
    from panel.errors import PlanRefused
    from panel.questions.next_session import next_session
    from panel.questions.next_wanted import NextWanted

    try:
        return next_session(db, NextWanted(), as_of=as_of, profile=profile, vat=vat).found.vat
    except PlanRefused:
        return None


def would_change_of(
    db: Session,
    target: str | Target,
    parts: Mapping[str, float],
    *,
    as_of: date,
    house: HouseStock,
    profile: Profile | None = None,
) -> VatMind | None:
    """Return the same of litres by cask, before there is a release of them.

    Parameters
    ----------
    house
        The stock that they are taken from.
    """
    from panel.frames import target_of
    from panel.questions.next_planners import VatAsked

    aim = target_of(db, target) if isinstance(target, str) else target
    vat = VatAsked(aim.name, aim, house, dict(parts), None)
    return would_change(db, vat, as_of=as_of, profile=profile)

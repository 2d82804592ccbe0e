"""Pictures of casks: those of a ranking, and all of them by what they are like."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.against import which_casks
from analysis.pictures.store import what_is_alike

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.pictures import Picture
    from analysis.profile import Profile
    from analysis.target import Match


def ranked_casks(
    db: Session,
    found: Match,
    *,
    as_of: date,
    on: date | None = None,
    profile: Profile | None = None,
) -> Picture:
    """Return the first casks of a ranking against its target, their notes as of its day."""
    from panel.frames import target_of
    from panel.questions.profile import house_profile
    from panel.questions.stock import day_of, notes_on

    aim = target_of(db, found.target)
    known = profile or house_profile(db, as_of=as_of)
    names = [line.descriptor for line in aim.lines]
    notes = notes_on(db, as_of=as_of, profile=known, descriptors=names, day=day_of(as_of, on))
    return which_casks(found, aim, notes.profile.estimates)


def alike_in_house(db: Session, profile: Profile, *, as_of: date) -> Picture | None:
    """Return what lies in the house's casks by the draws that stand for them."""
    from panel.questions.asked_profile import standing_samples

    return alike_casks(profile, standing_samples(db, profile, as_of=as_of))


def alike_casks(profile: Profile, samples: set[str]) -> Picture | None:
    """Return the casks that stand for themselves by these samples, alike ones neighbours."""
    rows = profile.estimates
    known = rows[rows["sample"].isin(samples) & rows["estimate"].notna() & rows["cask"].notna()]
    return what_is_alike(known)

"""Where a release stands in the house: what the panel found in it, among the house's casks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from analysis.pictures.rails import Rail, where_it_stands
from panel.figures import in_digits

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.pictures import Picture
    from analysis.profile import Profile
    from panel.release.sheet import Claim, ReleaseSheet

TWICE = 1.96
LOW, HIGH = 0.05, 0.95
LEAST_CASKS = 5
"""Casks that a range of the house is told of; fewer are not a house."""


def in_the_house(
    db: Session, name: str, *, as_of: date, profile: Profile | None = None
) -> tuple[Picture, ...]:
    """Return a rail a note of a release's sheet; none where the panel found nothing in it.

    Raises
    ------
    UnknownRecord
        There is no such release.
    """
    from panel.questions.profile import house_profile
    from panel.release.sheet import sheet_of

    sheet = sheet_of(db, name, as_of=as_of, profile=profile)
    if not sheet.claims:
        return ()
    known = profile or house_profile(db, as_of=as_of)
    return (on_rails(db, sheet, known, as_of=as_of),)


def on_rails(db: Session, sheet: ReleaseSheet, profile: Profile, *, as_of: date) -> Picture:
    """Return a rail a note of a sheet that has some."""
    return drawn_rails(db, sheet, rails_of(db, sheet, profile, as_of=as_of))


def drawn_rails(db: Session, sheet: ReleaseSheet, rails: Sequence[Rail]) -> Picture:
    """Return the picture of a sheet's rails."""
    from panel.store.lexicon import end_words

    return where_it_stands(sheet.release, rails, end_words(db), _said(sheet))


def rails_of(
    db: Session, sheet: ReleaseSheet, profile: Profile, *, as_of: date
) -> tuple[Rail, ...]:
    """Return where each note of a sheet stands, and the range of the house's casks on it."""
    from panel.questions.asked_profile import standing_samples

    rows = profile.estimates
    house = rows[
        rows["sample"].isin(standing_samples(db, profile, as_of=as_of))
        & rows["cask"].notna()
        & rows["estimate"].notna()
    ]
    by_note = {str(note): own["estimate"] for note, own in house.groupby("descriptor")}
    rails = []
    for claim in sheet.claims:
        own = by_note.get(claim.note)
        values = [] if own is None else [float(value) for value in own]
        rails.append(_rail(claim, values))
    return tuple(rails)


def _rail(claim: Claim, casks: Sequence[float]) -> Rail:
    half = None if claim.se is None else TWICE * claim.se
    own = None if half is None else (claim.points - half, claim.points + half)
    house = _range(casks) if len(casks) >= LEAST_CASKS else None
    return Rail(claim.note, claim.points, own, house, len(casks))


def _range(casks: Sequence[float]) -> tuple[float, float]:
    import numpy as np

    low, high = np.quantile(casks, (LOW, HIGH))
    return float(low), float(high)


def _said(sheet: ReleaseSheet) -> str:
    evenings = sheet.nosed.evenings if sheet.nosed else ()
    strengths = dict.fromkeys(f"{in_digits(one.nosing_abv_percent, 'g')} %" for one in evenings)
    at = f", nosed at {' and '.join(strengths)} vol" if strengths else ""
    return (
        f"Found blind in session {', '.join(sheet.sessions)}{at}, in a bench blend, not in the "
        "bottling. Points are our panel's mean; they say nothing of what a guest can tell apart."
    )

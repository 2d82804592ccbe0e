"""Three to six pours of bottled releases for guests: their order, ethanol, water, and the words.

Nothing here is written anywhere: it is laid out from what the records and the sessions hold.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.errors import PourRefused, ReleaseError, UnknownRecord
from panel.figures import in_digits
from panel.kinds import ReleaseStatus
from panel.release.sheet import LEVELS, release_sheet
from panel.release.tasting_found import NosedAt, PanelFound, found_in
from panel.release.trace import find_by_name_or_lot
from panel.session.dose import DoseLimits, ethanol_grams
from panel.session.orders import peat_class
from panel.store.lexicon import end_words

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.release.sheet import Claim, ReleaseSheet
    from panel.store.releases import Release

FEWEST, MOST = 3, 6
POUR_ML = 10.0
MOST_GRAMS = DoseLimits().session_swallowed_grams
"""What one sitting may hold if nobody spits: the same as for the panel's own."""
STEPS_ABV = (35.0, 30.0)
"""Strengths on the way down to the panel's own; common practice, no source."""
CARD_NOTES = 6
PAPER_NOTES = 3


@dataclass(frozen=True)
class Water:
    """Water that brings a pour down to a strength."""

    to_abv_percent: float
    ml: float


@dataclass(frozen=True)
class TastingPour:
    """One glass of a tasting, with what may be said of it.

    `sheet` holds only the notes of a card: those clear enough to be told, a handful.
    """

    sheet: ReleaseSheet
    ml: float
    grams: float
    peat: int
    water: tuple[Water, ...]
    found: PanelFound

    @property
    def name(self) -> str:
        """The release's name."""
        return self.sheet.release


@dataclass(frozen=True)
class Tasting:
    """All pours in the order in which they are poured, and the notes for guests to score."""

    pours: tuple[TastingPour, ...]
    ml: float
    notes: tuple[str, ...]
    ends: Mapping[str, tuple[str, str]]
    """Words at both ends of each note's line."""

    @property
    def grams(self) -> float:
        """Grams of ethanol for a guest who swallows all."""
        return sum(pour.grams for pour in self.pours)


def tasting_of(
    db: Session,
    names: Sequence[str],
    *,
    as_of: date,
    ml: float = POUR_ML,
    profile: Profile | None = None,
) -> Tasting:
    """Lay out a tasting of the releases of those names or lot codes.

    Raises
    ------
    ReleaseError
        With everything that speaks against it: fewer than three or more than six, one that is
        unknown, doubled or not bottled.
    PourRefused
        Pours of no volume, or of too much ethanol in all.
    """
    if not (math.isfinite(ml) and ml > 0.0):
        raise PourRefused(
            f"A pour of {in_digits(ml, 'g')} mL cannot be poured: give a volume above 0 mL."
        )
    chosen = _chosen(db, names)
    known = profile or _profile_of(db, chosen, as_of)
    pours = tuple(sorted((_pour(db, one, ml, as_of, known) for one in chosen), key=_place))
    grams = sum(pour.grams for pour in pours)
    if grams > MOST_GRAMS:
        raise PourRefused(
            f"{len(pours)} pours of {in_digits(ml, 'g')} mL hold {in_digits(grams, '.1f')} "
            "g of ethanol, more than the "
            f"{in_digits(MOST_GRAMS, 'g')} g that a guest may be poured at one tasting: "
            "pour less of each "
            "or fewer."
        )
    return Tasting(pours, ml, _paper_notes(pours), end_words(db))


def check_scored(tasting: Tasting) -> None:
    """Refuse a sheet for guests with nothing on it.

    Raises
    ------
    ReleaseError
        No note is told of any of its pours.
    """
    if not tasting.notes:
        raise ReleaseError(
            "The panel has found no note in these releases that is told, so there is nothing for "
            "guests to score."
        )


def check_chosen(db: Session, names: Sequence[str]) -> None:
    """Refuse, before anything is reckoned, a choice of releases that makes no tasting.

    Raises
    ------
    ReleaseError
        With everything that is wrong with the choice.
    """
    _chosen(db, names)


def _profile_of(db: Session, chosen: Sequence[Release], as_of: date) -> Profile | None:
    """Return the house's profile where a blend of one was mixed; else nobody waits for it."""
    from panel.questions.profile import house_profile

    return house_profile(db, as_of=as_of) if any(one.benches for one in chosen) else None


def _chosen(db: Session, names: Sequence[str]) -> list[Release]:
    """Return the releases, or everything that is wrong with the choice in one refusal."""
    faults, found = [], []
    if not FEWEST <= len(names) <= MOST:
        given = f"{len(names)} {'is' if len(names) == 1 else 'are'} named"
        faults.append(f"A tasting has {FEWEST} to {MOST} pours, and {given}.")
    for name in names:
        try:
            found.append(find_by_name_or_lot(db, name))
        except UnknownRecord as error:
            faults.append(str(error))
    for release in dict.fromkeys(found):
        if found.count(release) > 1:
            faults.append(f"Release {release.name} is named more than once.")
        if release.status is not ReleaseStatus.BOTTLED:
            faults.append(
                f"Release {release.name} is {release.status.value}, not bottled: guests are poured "
                "only what is bottled and duty-paid."
            )
    if faults:
        raise ReleaseError(" ".join(faults))
    return found


def _pour(
    db: Session, release: Release, ml: float, as_of: date, profile: Profile | None
) -> TastingPour:
    sheet = release_sheet(db, release, as_of=as_of, profile=profile)
    found = found_in(db, release, as_of=as_of, profile=profile)
    abv = sheet.abv_percent
    return TastingPour(
        sheet=replace(sheet, claims=_told(sheet.claims)),
        ml=ml,
        grams=ethanol_grams(ml, abv),
        peat=0 if sheet.malt_ppm is None else peat_class(sheet.malt_ppm),
        water=water_steps(ml, abv, found.nosed),
        found=found,
    )


def _place(pour: TastingPour) -> tuple[int, float, str]:
    """Smoke stays in nose and mouth, and so does strength, but less: peat decides first."""
    return pour.peat, pour.sheet.abv_percent, pour.name


def _told(claims: Sequence[Claim]) -> tuple[Claim, ...]:
    """Return the clearest notes, in the order of the stages."""
    clear = [claim for claim in claims if claim.points >= LEVELS[0][0]]
    first = sorted(clear, key=lambda claim: -claim.points)[:CARD_NOTES]
    return tuple(claim for claim in clear if claim in first)


def water_steps(ml: float, abv_percent: float, nosed: Sequence[NosedAt]) -> tuple[Water, ...]:
    """Return the water for each strength below that of the bottle, down to the panel's own."""
    from analysis.strength import reduce_strength

    wanted = {*STEPS_ABV, *(one.nosing_abv_percent for one in nosed)}
    return tuple(
        Water(to, 1000.0 * reduce_strength(ml / 1000.0, abv_percent, to).water_litres)
        for to in sorted(wanted, reverse=True)
        if to < abv_percent
    )


def _paper_notes(pours: Sequence[TastingPour]) -> tuple[str, ...]:
    """Return the notes told of most pours, and of those the clearest anywhere."""
    told: dict[str, list[float]] = {}
    for pour in pours:
        for claim in pour.sheet.claims:
            told.setdefault(claim.note, []).append(claim.points)
    order = sorted(told, key=lambda note: (-len(told[note]), -max(told[note]), note))
    return tuple(order[:PAPER_NOTES])

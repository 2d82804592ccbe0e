"""What to pour for a bench blend in steps that a pipette keeps, and the chance of just that."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.errors import OakpanelError
from panel.figures import in_digits
from panel.store.release_records import find_release

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from panel.store.releases import Release, ReleasePart

STEP_ML = 0.5
"""A graduated pipette or cylinder is read to this; common practice, no source."""
NO_TARGET = "the release has no target"
CHANGED = "the litres of the release were changed while it was reckoned"


@dataclass(frozen=True)
class BenchPart:
    """What to pour of one cask, at cask strength."""

    cask: str
    filling: str
    millilitres: float
    abv_percent: float


@dataclass(frozen=True)
class Recipe:
    """What to pour of each cask, and the chance that just this is within the target.

    `reason` says why there is no chance.
    """

    parts: tuple[BenchPart, ...]
    probability: float | None
    reason: str | None


def poured_ml(litres: float, whole_litres: float, volume_ml: float) -> float:
    """Return a part's share of a blend in whole steps, one at least: what is in it is poured."""
    steps = round(volume_ml * litres / whole_litres / STEP_ML)
    return max(steps, 1) * STEP_ML


def bench_parts(release: Release, volume_ml: float) -> tuple[BenchPart, ...]:
    """Return what to pour of each cask of a release, the largest first."""
    stored = poured_parts(release)
    whole = sum(litres_of(part) for part in stored)
    return tuple(
        BenchPart(
            cask=part.filling.cask.number,
            filling=part.filling.label,
            millilitres=poured_ml(litres_of(part), whole, volume_ml),
            abv_percent=part.given_abv or part.abv or part.filling.fill_abv,
        )
        for part in stored
    )


def poured_parts(release: Release) -> list[ReleasePart]:
    """Return the parts that something comes from, the largest first."""
    given = [part for part in release.parts if litres_of(part) > 0.0]
    return sorted(given, key=lambda part: (-litres_of(part), part.filling.label))


def litres_of(part: ReleasePart) -> float:
    """Return what a cask gave, or is to give."""
    return part.litres if part.given_l is None else part.given_l


def bench_recipe(
    db: Session, name: str, *, volume_ml: float, as_of: date, profile: Profile | None = None
) -> Recipe:
    """Return the recipe of a release, with the chance of what is really poured: it takes seconds.

    Raises
    ------
    UnknownRecord
        There is no such release.
    """
    from analysis.errors import AnalysisError

    release = find_release(db, name)
    if not volume_ml > 0.0:
        return Recipe((), None, f"{in_digits(volume_ml, 'g')} mL are nothing")
    parts = bench_parts(release, volume_ml)
    if release.target is None:
        return Recipe(parts, None, NO_TARGET)
    try:
        return Recipe(parts, _chance(db, release, parts, as_of, profile), None)
    except (OakpanelError, AnalysisError) as error:
        return Recipe(parts, None, str(error))


def still_so(recipe: Recipe | None, parts: tuple[BenchPart, ...]) -> Recipe:
    """Return the recipe of what is poured now; a chance that was reckoned of other parts goes."""
    if recipe is None:
        return Recipe(parts, None, "it was not asked")
    return recipe if recipe.parts == parts else Recipe(parts, None, CHANGED)


def _chance(
    db: Session,
    release: Release,
    parts: tuple[BenchPart, ...],
    as_of: date,
    profile: Profile | None,
) -> float:
    from analysis.vatting import try_shares
    from panel.release.given import Given
    from panel.release.outcome import as_given
    from panel.release.planned import limits_of, stock_for

    limits = limits_of(release)
    aim, house = stock_for(db, release, as_of=as_of, profile=profile)
    litres = {part.cask: part.millilitres / 1000.0 for part in parts}
    # A cask that was emptied for the release is out of the stock, and its spirit is in the vat.
    poured = {part.cask: Given(litres[part.cask], part.abv_percent) for part in parts}
    stock = as_given(house.stock, poured, set()) if release.disgorged_on else house.stock
    return try_shares(stock, litres, aim, limits, house.rule).mixture.probability

"""The bench blend of a release: a trial draw with pouring volumes, ready for a blind session."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import ReleaseError, WrongStage
from panel.figures import in_digits
from panel.kinds import DrawKind, ReleaseStatus, Role
from panel.release.order import out_of_order, refuse
from panel.release.recipe import BenchPart, Recipe, bench_parts, poured_parts, still_so
from panel.store.draws import Draw, DrawPart
from panel.store.log import append_entry
from panel.store.release_records import find_release
from panel.store.releases import Release, ReleaseBench
from panel.store.who import acting_person

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

LEAST_POUR_ML = 1.0
"""Below this a pipette's own error shows in the blend; common practice, no source."""


@dataclass(frozen=True)
class BenchBlend:
    """A blend to mix on the bench.

    `probability` is the chance that just what is poured is within the target; without one
    `probability_reason` says why. `planned_probability` is that of the release's own litres.
    """

    release: str
    sample: str
    parts: tuple[BenchPart, ...]
    volume_ml: float
    abv_percent: float
    warnings: tuple[str, ...]
    probability: float | None = None
    probability_reason: str | None = None
    planned_probability: float | None = None


def mix_bench(
    db: Session,
    name: str,
    *,
    volume_ml: float,
    label: str | None = None,
    as_of: date,
    now: datetime,
    by: str | None,
    recipe: Recipe | None = None,
) -> BenchBlend:
    """Write a trial draw with the release's own shares; its casks lose what is poured.

    `recipe` holds the chance as it was reckoned before, so that no booth waits for it.

    Raises
    ------
    WrongStage
        The release is bottled or cancelled.
    ReleaseError
        The volume is not above zero, the day is out of order, or there is a sample of that label.
    """
    from analysis.strength import Part, vat

    person = acting_person(db, by, Role.BLENDER, on=as_of)
    release = find_release(db, name)
    if release.status not in {ReleaseStatus.PROPOSED, ReleaseStatus.SIGNED}:
        raise WrongStage(f"Release {name} is {release.status.value}: nothing is mixed for it.")
    faults = list(out_of_order(db, release, None, on=as_of, now=now))
    if not volume_ml > 0.0:
        faults.append(f"{in_digits(volume_ml, 'g')} mL: give more than nothing, 100 for instance.")
    refuse("Nothing was mixed.", faults)
    parts = bench_parts(release, volume_ml)
    mixed = vat([Part(part.millilitres / 1000.0, part.abv_percent) for part in parts])
    draw = Draw(
        label=_label(db, release, label),
        kind=DrawKind.TRIAL,
        drawn_on=as_of,
        abv=round(mixed.abv_percent, 2),
        volume_ml=round(1000.0 * mixed.bulk_litres, 2),
        note=f"bench blend of release {name}",
        reason=f"bench blend for release {name}",
        parts=[],
    )
    for part, stored in zip(parts, poured_parts(release), strict=True):
        draw.parts.append(DrawPart(filling_id=stored.filling_id, millilitres=part.millilitres))
    release.benches.append(ReleaseBench(draw=draw))
    db.flush()
    details = {"release": name, "sample": draw.label}
    append_entry(db, at=now, by=person.code, action="bench blend mixed", details=details)
    told = still_so(recipe, parts)
    return BenchBlend(
        *(name, draw.label, parts, 1000.0 * mixed.bulk_litres, mixed.abv_percent),
        _warnings(parts),
        *(told.probability, told.reason, planned_chance(release)),
    )


def planned_chance(release: Release) -> float | None:
    """Return the chance of the litres themselves: as disgorged, else as planned."""
    kept = json.loads(release.found_json or release.predicted_json or "{}")
    chance: float | None = kept.get("probability")
    return chance


def _label(db: Session, release: Release, label: str | None) -> str:
    chosen = label or f"{release.name}-B{len(release.benches) + 1}"
    if db.scalar(select(Draw.id).where(Draw.label == chosen)) is not None:
        raise ReleaseError(f"There is a sample {chosen!r} already; name this one with --sample.")
    return chosen


def _warnings(parts: tuple[BenchPart, ...]) -> tuple[str, ...]:
    small = [part for part in parts if part.millilitres < LEAST_POUR_ML]
    if not small:
        return ()
    casks = ", ".join(part.cask for part in small)
    return (
        f"Below {in_digits(LEAST_POUR_ML, 'g')} mL of cask {casks}: mix a larger blend, or "
        "a pipette's own error "
        "changes it.",
    )

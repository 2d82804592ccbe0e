"""What a release was planned by: its limits, its foretold figures, its target and its stock."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from panel.questions.vat_limits import limits_from_dict

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import Limits
    from panel.questions.vatting import HouseStock
    from panel.store.releases import Release


def limits_of(release: Release) -> Limits:
    """Return the limits a release was proposed under."""
    return limits_from_dict(json.loads(release.limits_json or "{}"))


def planned_of(release: Release) -> dict[str, Any]:
    """Return what was foretold when the release was proposed."""
    found: dict[str, Any] = json.loads(release.predicted_json or "{}")
    return found


def stock_for(
    db: Session, release: Release, *, as_of: date, profile: Profile | None = None
) -> tuple[Target, HouseStock]:
    """Return a release's target and the stock of its day, what it reserves counted as free."""
    from panel.frames import target_of
    from panel.questions.vatting import house_stock

    aim = target_of(db, release.target.name if release.target else "")
    house = house_stock(
        db,
        as_of=as_of,
        profile=profile,
        besides_release=release.name,
        bottling_on=limits_of(release).bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
        exponents=planned_of(release).get("exponents"),
    )
    return aim, house

"""The releases as a list."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.kinds import ReleaseStatus
from panel.store.release_records import releases

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from panel.store.releases import Release


@dataclass(frozen=True)
class ReleaseLine(AsJson):
    """A release as a list shows it."""

    name: str
    status: str
    target: str | None
    planned_on: date
    casks: int
    bottles: int | None
    lot_code: str | None

    json_keys = (
        *(("name", "release"), "status", "target", "planned_on", "casks", "bottles", "lot_code"),
    )


def _bottles(release: Release) -> int | None:
    """Return the bottles that were filled, else those of what the casks gave, else the plan's."""
    if release.status is ReleaseStatus.BOTTLED or release.found_json is None:
        return release.bottles
    told: int | None = json.loads(release.found_json).get("bottles")
    return release.bottles if told is None else told


def listed_releases(db: Session) -> list[ReleaseLine]:
    """Return all releases, the newest first."""
    return [
        ReleaseLine(
            name=each.name,
            status=each.status.value,
            target=each.target.name if each.target else None,
            planned_on=each.planned_on,
            casks=len(each.parts),
            bottles=_bottles(each),
            lot_code=each.lot_code,
        )
        for each in releases(db)
    ]

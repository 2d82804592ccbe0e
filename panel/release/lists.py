"""The releases as a list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.store.release_records import releases

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


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


def listed_releases(db: Session) -> list[ReleaseLine]:
    """Return all releases, the newest first."""
    return [
        ReleaseLine(
            name=each.name,
            status=each.status.value,
            target=each.target.name if each.target else None,
            planned_on=each.planned_on,
            casks=len(each.parts),
            bottles=each.bottles,
            lot_code=each.lot_code,
        )
        for each in releases(db)
    ]

"""The releases as a list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.store.release_records import releases

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class ReleaseLine:
    """A release as a list shows it."""

    name: str
    status: str
    target: str | None
    planned_on: date
    casks: int
    bottles: int | None
    lot_code: str | None

    def to_dict(self) -> dict[str, object]:
        """Return it as it stands in a JSON answer."""
        return {
            "release": self.name,
            "status": self.status,
            "target": self.target,
            "planned_on": self.planned_on,
            "casks": self.casks,
            "bottles": self.bottles,
            "lot_code": self.lot_code,
        }


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

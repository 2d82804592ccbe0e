"""The steps of a release in their order, and their days: none before another, none to come."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

from panel.errors import ReleaseError, WrongStage
from panel.kinds import ReleaseStatus
from panel.store.house import today_at_site
from panel.store.release_records import find_release

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.releases import Release

LOT_DAY = "L%y%j"
"""How a lot code begins: L, two digits of the year, the day of the year."""


def at_stage(db: Session, name: str, stage: ReleaseStatus) -> Release:
    """Return a release that stands where a step begins.

    Raises
    ------
    WrongStage
        It stands elsewhere.
    """
    release = find_release(db, name)
    if release.status is not stage:
        raise WrongStage(
            f"Release {name} is {release.status.value}; this needs one that is {stage.value}."
        )
    return release


def refuse(undone: str, faults: Sequence[str], error: type[ReleaseError] = ReleaseError) -> None:
    """Raise all faults at once, if there are any."""
    if faults:
        raise error(" ".join([undone, *faults]))


def lot_day(code: str | None) -> date | None:
    """Return the day on which a release was signed, by its lot code; None where it has none."""
    try:
        return datetime.strptime((code or "").partition("-")[0], LOT_DAY).date()
    except ValueError:
        return None


def not_to_come(db: Session, on: date, now: datetime) -> Iterator[str]:
    """Say so if a day is after today at the site."""
    today = today_at_site(db, now)
    if on > today:
        yield f"{on} is after today, {today}: keep what was done, on the day it was done."


def out_of_order(
    db: Session, release: Release, step: ReleaseStatus | None, *, on: date, now: datetime
) -> Iterator[str]:
    """Say everything against a day for a step of a release.

    `step` is what the release becomes by it; None is what may be done again: the bench and
    disgorging.
    """
    yield from not_to_come(db, on, now)
    done: dict[str, date | None] = {"proposed": release.planned_on}
    if step is not None:
        done["disgorged"] = release.disgorged_on
    if step is ReleaseStatus.BOTTLED:
        done["signed"] = lot_day(release.lot_code)
    for word, day in done.items():
        if day is not None and on < day:
            yield f"{on} is before release {release.name} was {word}, {day}."
    for part in release.parts:
        if on < part.filling.filled_on:
            filled = part.filling.filled_on
            yield f"{on} is before cask {part.filling.cask.number} was filled, {filled}."

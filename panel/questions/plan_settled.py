"""Releases of a plan of the stock that are proposed by now, and what they take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.figures import plural
from panel.kinds import ReleaseStatus
from panel.store.release_records import releases
from panel.store.stock_plans import StoredPlan

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sqlalchemy.orm import Session

    from panel.questions.plan_records import PlanRecord


def settled_releases(db: Session, record: PlanRecord) -> dict[str, str]:
    """Return which releases of a plan were proposed since, and at which step they stand."""
    names = {line.release for line in record.lines}
    return {
        each.name: each.status.value
        for each in reversed(releases(db))
        if each.name in names and each.status is not ReleaseStatus.CANCELLED
    }


def in_other_plans(db: Session, record: PlanRecord) -> tuple[str, ...]:
    """Say which releases stand in another plan under the same name: they are the same release."""
    from panel.store.stock_plans import PlannedRelease as Planned

    names = {line.release for line in record.lines}
    found = db.execute(
        select(Planned.name, StoredPlan.name)
        .join(StoredPlan, StoredPlan.id == Planned.plan_id)
        .where(StoredPlan.name != record.plan)
        .order_by(StoredPlan.name, Planned.place)
    )
    others: dict[str, list[str]] = {}
    for release, plan in found:
        if release in names:
            others.setdefault(plan, []).append(release)
    return tuple(
        f"{', '.join(same)} {plural('stands', len(same), 'stand')} in plan {plan} too: once "
        f"proposed, {plural('it counts', len(same), 'they count')} as proposed in both."
        for plan, same in others.items()
    )


def settled_litres(db: Session, record: PlanRecord, settled: Mapping[str, str]) -> dict[int, float]:
    """Return by year the litres that releases of a plan take which were proposed since."""
    years = {line.release: line.year for line in record.lines if line.release in settled}
    litres: dict[int, float] = {}
    for each in releases(db):
        if each.name in years and each.status is not ReleaseStatus.CANCELLED:
            drawn = sum(
                part.litres if part.given_l is None else part.given_l for part in each.parts
            )
            litres[years[each.name]] = litres.get(years[each.name], 0.0) + drawn
    return dict(sorted(litres.items()))

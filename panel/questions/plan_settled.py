"""Releases of a plan of the stock that are proposed by now, and what they take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.figures import plural
from panel.kinds import ReleaseStatus
from panel.records.plan_names_taken import is_planned_in, taken_words
from panel.store.release_records import releases
from panel.store.stock_plans import StoredPlan

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.questions.plan_records import PlanRecord
    from panel.store.releases import Release


def settled_releases(db: Session, record: PlanRecord) -> dict[str, str]:
    """Return which releases of a plan were proposed since, and at which step they stand."""
    return {each.name: each.status.value for each in releases_of_plan(db, record)}


def releases_of_plan(db: Session, record: PlanRecord) -> list[Release]:
    """Return the releases of a plan that stand by now, the oldest first."""
    targets = {line.release: line.target for line in record.lines}
    return [
        each
        for each in reversed(releases(db))
        if each.name in targets
        and each.status is not ReleaseStatus.CANCELLED
        and is_planned_in(each, record.plan, targets[each.name])
    ]


def taken_names(db: Session, record: PlanRecord) -> tuple[str, ...]:
    """Say which releases of a plan have a name that another release has by now."""
    settled = settled_releases(db, record)
    names = {line.release for line in record.lines} - set(settled)
    return tuple(
        f"{taken_words(each)}: give the one of this plan a name of its own before it is proposed."
        for each in reversed(releases(db))
        if each.name in names and each.status is not ReleaseStatus.CANCELLED
    )


def in_other_plans(db: Session, record: PlanRecord) -> tuple[str, ...]:
    """Say which releases stand in another plan under the same name: only one can be proposed."""
    from panel.store.stock_plans import PlannedRelease as Planned

    names = {line.release for line in record.lines} - set(settled_releases(db, record))
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
        f"{', '.join(same)} {plural('stands', len(same), 'stand')} in plan {plan} too: proposed "
        f"from one plan, {plural('its name is', len(same), 'their names are')} taken in the other."
        for plan, same in others.items()
    )


def settled_litres(db: Session, record: PlanRecord) -> dict[int, float]:
    """Return by year the litres that releases of a plan take which were proposed since."""
    years = {line.release: line.year for line in record.lines}
    litres: dict[int, float] = {}
    for each in releases_of_plan(db, record):
        drawn = sum(part.litres if part.given_l is None else part.given_l for part in each.parts)
        litres[years[each.name]] = litres.get(years[each.name], 0.0) + drawn
    return dict(sorted(litres.items()))

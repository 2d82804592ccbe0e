"""A plan of the stock as it is recorded, and what each release of it is held to."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.as_json import AsJson
from panel.errors import UnknownRecord
from panel.records.plan_limits import release_asks
from panel.store.finding import nearest_words
from panel.store.stock_plans import StoredPlan

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.orm import Session

    from analysis.vatting import Limits

MID_YEAR = (6, 30)
"""Month and day that the casks of a year's releases are moved to."""


@dataclass(frozen=True)
class PlanLine:
    """One release of a plan as it is recorded."""

    release: str
    year: int
    target: str
    bottles: int
    abv_percent: float
    age_years: int | None
    rule_set: str | None
    limits: str | None


@dataclass(frozen=True)
class PlanRecord(AsJson):
    """A plan as it is recorded."""

    plan: str
    limits: str | None
    lines: tuple[PlanLine, ...]
    kept_on: date | None


def stored_plan(db: Session, name: str) -> StoredPlan:
    """Return a plan by name.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    """
    plan = db.scalar(select(StoredPlan).where(StoredPlan.name == name))
    if plan is None:
        names = db.scalars(select(StoredPlan.name).order_by(StoredPlan.name)).all()
        near = nearest_words(name, set(names)) if names else " None was loaded yet."
        raise UnknownRecord(f"There is no plan {name!r}.{near}")
    return plan


def plan_records(db: Session) -> list[PlanRecord]:
    """Return all plans by name."""
    return [plan_record(each) for each in db.scalars(select(StoredPlan).order_by(StoredPlan.name))]


def plan_record(plan: StoredPlan) -> PlanRecord:
    """Return a plan as it is recorded."""
    return PlanRecord(
        plan.name,
        plan.limits,
        tuple(
            PlanLine(
                *(one.name, one.year, one.target.name, one.bottles, one.abv),
                *(one.age_years, one.rule_set, one.limits),
            )
            for one in sorted(plan.releases, key=lambda one: (one.year, one.place))
        ),
        plan.kept_on,
    )


def day_of_year(year: int, as_of: date) -> date:
    """Return the day that a year's releases are reckoned for: mid-year, never before today."""
    day = date(year, *MID_YEAR)
    return max(day, as_of) if year == as_of.year else day


def line_limits(line: PlanLine, held: Sequence[str] = ()) -> Limits:
    """Return what a release of a plan is held to, as of a single vatting."""
    from panel.questions.vat_limits import read_limits

    asks, _faults = release_asks(line.limits)
    return read_limits(
        bottles=line.bottles + asks.kept_bottles,
        abv_percent=line.abv_percent,
        age=line.age_years,
        shares=asks.shares,
        casks=asks.casks,
        whole=asks.whole,
        over_percent=asks.over_percent,
        include=asks.include,
        exclude=tuple(dict.fromkeys((*asks.exclude, *held))),
    )

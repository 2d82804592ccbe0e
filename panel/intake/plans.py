"""Plans of the stock: a row a release with its year, target, quantity and limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator, model_validator
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from panel.figures import in_digits
from panel.intake.cells import (
    STRENGTH,
    Name,
    OptionalFromOne,
    OptionalName,
    OptionalText,
    RowModel,
    Whole,
    Within,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, all_names, change, fetch, refuse_twins
from panel.intake.partly import told_of, with_blanks
from panel.intake.plan_names import PlanNames
from panel.kinds import ReleaseStatus
from panel.records.plan_limits import plan_asks, release_asks
from panel.records.plan_names_taken import is_planned_in, taken_words
from panel.store.ages import age_fault, year_fault
from panel.store.doubts import weak_doubt
from panel.store.releases import Release
from panel.store.rules import rule_books
from panel.store.stock_plans import PlannedRelease, StoredPlan
from panel.store.targets import StoredTarget

COLUMNS = Columns(
    required=("plan", "release", "year", "target", "bottles"),
    optional=("abv", "age", "rule_set", "limits"),
    numbers=frozenset({"year", "bottles", "abv", "age"}),
)
USUAL_ABV = 46.0
OF_A_RELEASE = ("year", "target", "bottles", "abv", "age", "rule_set")
_YEAR = Within("", low=2000, high=9999)


def read_year(text: str | None) -> int | None:
    """Return a year of four digits, None for an empty cell."""
    year = _YEAR.read(text)
    if year is not None and not year.is_integer():
        raise fault("must be a whole year, such as 2028")
    return None if year is None else int(year)


class PlanRow(RowModel):
    """One release of a plan; without a release, what holds for the plan as a whole."""

    plan: Name
    release: OptionalName
    year: Annotated[int | None, BeforeValidator(read_year)]
    target: OptionalName
    bottles: OptionalFromOne
    abv: Annotated[float | None, BeforeValidator(STRENGTH.read)] = None
    age: Annotated[int | None, BeforeValidator(Whole(0, hint=age_fault))] = None
    rule_set: OptionalName = None
    limits: OptionalText = None

    @model_validator(mode="after")
    def _is_a_release_or_the_whole(self) -> PlanRow:
        if self.release is None:
            self._whole()
            return self
        for column in ("year", "target", "bottles"):
            if getattr(self, column) is None:
                raise fault("must not be empty where a release is named", column=column)
        return self

    def _whole(self) -> None:
        for column in OF_A_RELEASE:
            if getattr(self, column) is not None:
                raise fault(
                    "a row without a release holds for the plan as a whole: leave this empty, or "
                    "name the release",
                    column=column,
                )
        if self.limits is None:
            raise fault(
                "say what holds for the plan as a whole, or name a release", column="limits"
            )


def take_plans(load: Load, rows: Sequence[PlanRow]) -> None:
    """Add plans and their releases and bring known ones up to date."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.plan, row.release),
        "release",
        lambda key: f"{key[1] or 'what holds for the whole'} of plan {key[0]}",
    )
    found = select(StoredPlan).options(selectinload(StoredPlan.releases))
    told = (*load.unsound, *rows)
    plans = fetch(load.db, found, StoredPlan.name, told_of(told, "plan"))
    targets = fetch(load.db, select(StoredTarget), StoredTarget.name, told_of(told, "target"))
    intake = _Intake(
        load,
        {one.name: one for one in plans},
        {one.name: one for one in targets},
        tuple(book.name for book in rule_books(load.db)),
        PlanNames(load, _wholes(load, rows, plans)),
        frozenset(_named(row) for row in (*load.unsound, *rows)),
    )
    for row in load.unsound:
        intake.look(row)
    for row in load.going(rows):
        intake.take(row)


def _wholes(
    load: Load, rows: Sequence[PlanRow], plans: Sequence[StoredPlan]
) -> dict[str, str | None]:
    """Return by plan what holds for the whole of it, by this file or as it was written before.

    A row with other faults counts as well: its limits are read by themselves.
    """
    found = {plan.name: plan.limits for plan in plans}
    for row in (*load.unsound, *rows):
        told = row.__dict__
        if "plan" in told and told.get("release", "") is None:
            found[told["plan"]] = told.get("limits") or "?"
    return found


def _named(row: PlanRow) -> tuple[str, str | None]:
    """Return plan and release of a row, as far as they could be read."""
    told = row.__dict__
    return told.get("plan", ""), told.get("release")


@dataclass
class _Intake:
    load: Load
    plans: dict[str, StoredPlan]
    targets: dict[str, StoredTarget]
    rule_sets: tuple[str, ...]
    names: PlanNames
    named: frozenset[tuple[str, str | None]]
    """Plan and release of every row."""

    def take(self, row: PlanRow) -> None:
        self._check(row)
        if row.target is not None and row.target not in self.targets:
            names_of = all_names(self.load.db, StoredTarget.name)
            self.load.unknown(row.at, "target", row.target, "target", names_of)
            return
        plan = self.plans.get(row.plan)
        if plan is None:
            plan = self.plans[row.plan] = StoredPlan(name=row.plan, releases=[], parts=[])
            self.load.db.add(plan)
        self.load.count(self._whole(plan, row) if row.release is None else self._one(plan, row))

    def look(self, row: PlanRow) -> None:
        """Note what else is at fault in a row that has faults, as far as it could be read.

        A name of no target is noted for such rows of every kind (`check_names`).
        """
        if {"plan", "release"} <= row.__dict__.keys():
            self._check(with_blanks(row))

    def _check(self, row: PlanRow) -> None:
        """Note every fault of a row but a target that is not there."""
        if row.rule_set is not None and row.rule_set not in self.rule_sets:
            names = self.rule_sets
            self.load.unknown(row.at, "rule_set", row.rule_set, "rule set", lambda: names)
        target = None if row.target is None else self.targets.get(row.target)
        plan = self.plans.get(row.plan)
        if row.release is None:
            anew = plan is None or plan.limits != row.limits
            whole, faults = plan_asks(row.limits)
            self.names.of_whole(row.at, row.plan, whole, anew=anew)
            self._kept(row, plan)
        else:
            asks, faults = release_asks(row.limits)
            self.names.of_release(row.at, row.plan, asks, target)
            self._year(row, plan)
            self._name(row, plan)
            self._strength(row, plan)
        if faults:
            self.load.fault(row.at, "limits", row.limits, "; ".join(faults))

    def _kept(self, row: PlanRow, plan: StoredPlan | None) -> None:
        """Releases that this file leaves as they are keep the fillings that they name."""
        for one in () if plan is None else plan.releases:
            if (row.plan, one.name) not in self.named:
                asks, _faults = release_asks(one.limits)
                self.names.of_kept(row.at, row.plan, one.name, asks)

    def _year(self, row: PlanRow, plan: StoredPlan | None) -> None:
        """A year that is over may stand in a plan that was written before; none is planned anew."""
        known = self._known(row, plan)
        if row.year is None:
            return
        if wrong := year_fault(row.year, self.load.today):
            self.load.fault(row.at, "year", row.year, wrong)
        if row.year >= self.load.today.year:
            return
        if known is None or known.year != row.year:
            self.load.doubt(row.at, "year", row.year, "is over: no cask can be planned for it")

    def _strength(self, row: PlanRow, plan: StoredPlan | None) -> None:
        """A strength that hardly is one is asked about, until it stands there."""
        known = self._known(row, plan)
        if row.abv is None or (known is not None and known.abv == row.abv):
            return
        if doubt := weak_doubt(row.abv, "a bottle"):
            self.load.doubt(row.at, "abv", in_digits(row.abv, "g"), doubt)

    def _name(self, row: PlanRow, plan: StoredPlan | None) -> None:
        """A name that another release has by now is no new one's, nor one's of another target."""
        known = self._known(row, plan)
        there = self.load.db.scalar(select(Release).where(Release.name == row.release))
        anew = known is None or known.target.name != row.target or known.year != row.year
        if there is None or there.status is ReleaseStatus.CANCELLED or not anew:
            return
        if row.target is None or row.year is None:
            return  # of what could not be read it is not known whether it is another
        year = (there.bottled_on or there.bottling_on or there.planned_on).year
        if not is_planned_in(there, row.plan, row.target) or (known is None and year != row.year):
            said = f"{taken_words(there)}: give this one a name of its own"
            self.load.fault(row.at, "release", row.release, said)

    @staticmethod
    def _known(row: PlanRow, plan: StoredPlan | None) -> PlannedRelease | None:
        if plan is None:
            return None
        return next((one for one in plan.releases if one.name == row.release), None)

    def _whole(self, plan: StoredPlan, row: PlanRow) -> RowOutcome:
        if plan.limits is None:
            plan.limits = row.limits
            return RowOutcome.NEW
        return RowOutcome.CHANGED if change(plan, {"limits": row.limits}) else RowOutcome.UNCHANGED

    def _one(self, plan: StoredPlan, row: PlanRow) -> RowOutcome:
        target = self.targets[row.target or ""]
        optional = self.load.present(
            {
                "abv": ("abv", row.abv if row.abv is not None else USUAL_ABV),
                "age_years": ("age", row.age),
                "rule_set": ("rule_set", row.rule_set),
                "limits": ("limits", row.limits),
            }
        )
        values = {"year": row.year, "target": target, "bottles": row.bottles, **optional}
        known = next((one for one in plan.releases if one.name == row.release), None)
        if known is not None:
            return RowOutcome.CHANGED if change(known, values) else RowOutcome.UNCHANGED
        place = max((one.place for one in plan.releases), default=0) + 1
        values.setdefault("abv", USUAL_ABV)
        plan.releases.append(PlannedRelease(name=row.release, place=place, **values))
        return RowOutcome.NEW

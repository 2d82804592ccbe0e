"""From a plan of the stock to releases: its casks kept for reference, and proposed one by one."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from math import inf, sqrt
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.as_json import as_json
from panel.errors import NotInStock, ReleaseError, UnknownRecord
from panel.kinds import Role
from panel.questions.agreed import AGREED_THEN, as_agreed, lifted_by_name
from panel.questions.plan_records import (
    PlanLine,
    day_of_year,
    line_limits,
    plan_record,
    stored_plan,
)
from panel.questions.plan_since import changed_since
from panel.records.plan_names_taken import FROM_PLAN
from panel.release.holding import lying_casks
from panel.release.order import not_to_come, refuse
from panel.store.casks import Cask, Filling
from panel.store.filling_states import filling_states
from panel.store.finding import nearest_words
from panel.store.log import append_entry
from panel.store.stock_plans import PlannedPart
from panel.store.who import acting_person

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import Mixture
    from panel.questions.agreed import AgreedThen
    from panel.questions.stock_plans import PlanFound
    from panel.release.propose import ChanceSince, Proposal
    from panel.store.filling_states import FillingState
    from panel.store.stock_plans import StoredPlan


def keep_plan(
    db: Session, found: PlanFound, *, on: date, now: datetime, by: str | None
) -> StoredPlan:
    """Keep the casks that a plan gives each release; nothing is reserved by it.

    Raises
    ------
    UnknownRecord
        The plan is not there any more.
    ReleaseError
        It was changed to see what moves: what is recorded is another plan.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    refuse("Nothing was kept.", list(not_to_come(db, on, now)))
    if found.changed:
        raise ReleaseError(
            f"Nothing was kept: {', '.join(found.changed)} is not what plan {found.plan} says. "
            "Write it into the plan first."
        )
    plan = stored_plan(db, found.plan)
    places = {one.name: one.place for one in plan.releases}
    held = {state.filling_id: state for state in filling_states(db, on)}
    fillings = {each.label: each.id for each in db.scalars(select(Filling).join(Cask))}
    plan.parts.clear()
    db.flush()
    for release in found.found.releases:
        for part in release.mixture.parts if release.mixture is not None else ():
            filling = fillings.get(part.filling)
            if filling is None or release.name not in places:
                continue  # a filling that is expected: nothing lies there yet
            content = held[filling].content_on(on)
            plan.parts.append(
                PlannedPart(
                    place=places[release.name],
                    filling_id=filling,
                    litres=part.litres,
                    held_l=content.bulk_l,
                    abv=content.abv,
                )
            )
    agreed = [as_json(each) for each in _agreed(db, plan, held, on)]
    plan.found_json, plan.kept_on = json.dumps({**_figures(found), AGREED_THEN: agreed}), on
    db.flush()
    details = {"plan": found.plan, "casks": len(plan.parts)}
    append_entry(db, at=now, by=person.code, action="stock plan kept", details=details)
    return plan


def _agreed(
    db: Session, plan: StoredPlan, held: Mapping[int, FillingState], on: date
) -> Iterator[AgreedThen]:
    """What bars a cask today and is agreed to because its release names the cask."""
    limits = {line.release: line_limits(line) for line in plan_record(plan).lines}
    names = {one.place: one.name for one in plan.releases}
    lying = lying_casks(db, [held[part.filling_id].cask for part in plan.parts], as_of=on)
    for part in plan.parts:
        cask = held[part.filling_id].cask
        if cask not in lying:
            continue
        allowed = limits[names[part.place]].allowed(cask, whole=False)
        for barred in lifted_by_name(lying[cask].bars, allowed):
            yield as_agreed(cask, barred)


def _figures(found: PlanFound) -> dict[str, object]:
    plan = found.found
    return {
        "joint": plan.joint,
        "bound": plan.bound,
        "gap": plan.gap,
        "chances": {each.name: each.probability for each in plan.releases},
    }


@dataclass(frozen=True)
class FromPlan:
    """A release of a plan that is to be proposed."""

    plan: str
    release: str


def planned_proposal(
    db: Session, asked: FromPlan, *, as_of: date, profile: Profile | None = None
) -> Proposal:
    """Return the proposal of one release with the casks that were kept for it in a plan.

    It is reckoned for the day of its year, as the plan is; a year that runs for today.

    Raises
    ------
    UnknownRecord
        There is no such plan or no such release in it.
    ReleaseError
        No casks were kept for it.
    NotInStock
        Casks of it are no longer there: what changed since, cask by cask.
    """
    from panel.release.propose import from_litres

    plan = stored_plan(db, asked.plan)
    line = _line(plan, asked.release)
    place = next(one.place for one in plan.releases if one.name == line.release)
    parts = [part for part in plan.parts if part.place == place]
    if not parts:
        raise ReleaseError(
            f"No casks are kept for {line.release} in plan {asked.plan!r}: ask for the plan and "
            f"keep it first (`oakpanel stock plan {asked.plan!r} --keep`)."
        )
    since = [each for each in changed_since(db, plan, as_of=as_of) if each.release == line.release]
    if since:
        raise NotInStock(
            "\n".join(
                [
                    f"{line.release} cannot be made as plan {asked.plan!r} of {plan.kept_on} has "
                    "it; since then:",
                    *(each.sentence for each in since),
                    "Nothing was reserved. Ask for the plan anew, and keep what it finds "
                    f"(`oakpanel stock plan {asked.plan!r} --keep`).",
                ]
            )
        )
    litres = {part.filling.cask.number: inf if _whole(part) else part.litres for part in parts}
    day = day_of_year(line.year, as_of)
    limits = replace(line_limits(line), bottling_on=day if day > as_of else None)
    found = from_litres(*(db, line.target, limits, litres), as_of=as_of, profile=profile)
    since_kept = _chance_since(plan, line.release, found.mixture)
    document = {**found.document, FROM_PLAN: plan.name}
    return replace(found, document=document, since_kept=since_kept)


_LEAST_MOVED, _ERRORS = 0.01, 2.0
"""A chance is another one by a hundredth at least, and by two standard errors of the two draws."""


def _chance_since(plan: StoredPlan, release: str, mixture: Mixture) -> ChanceSince | None:
    """Return what a release's chance was when the plan was kept, where it is another by now."""
    from panel.release.propose import ChanceSince

    then = json.loads(plan.found_json or "{}").get("chances", {}).get(release)
    now = mixture.told_probability
    if then is None or now is None or plan.kept_on is None:
        return None
    luck = _ERRORS * sqrt(2.0) * (mixture.told_probability_se or 0.0)
    if abs(now - then) <= max(_LEAST_MOVED, luck):
        return None
    return ChanceSince(plan.name, plan.kept_on, then, now)


def _whole(part: PlannedPart) -> bool:
    """Say whether a part is the whole cask: until its year a cask loses some of what it held."""
    return part.litres >= 0.9 * part.held_l


def _line(plan: StoredPlan, release: str) -> PlanLine:
    lines = {line.release: line for line in plan_record(plan).lines}
    if release not in lines:
        raise UnknownRecord(
            f"Plan {plan.name!r} has no release {release!r}.{nearest_words(release, set(lines))}"
        )
    return lines[release]


def drop_plan(
    db: Session,
    name: str,
    *,
    release: str | None = None,
    on: date,
    now: datetime,
    by: str | None,
) -> None:
    """Take a plan out of the records, or one release out of it; what was proposed from it stays.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is none; whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    plan = stored_plan(db, name)
    if release is None:
        db.delete(plan)
    else:
        line = _line(plan, release)
        gone = next(one for one in plan.releases if one.name == line.release)
        plan.parts = [part for part in plan.parts if part.place != gone.place]
        plan.releases.remove(gone)
    db.flush()
    details = {"plan": name} if release is None else {"plan": name, "release": release}
    append_entry(db, at=now, by=person.code, action="stock plan dropped", details=details)

"""Proposing a release: the casks are reserved in the same transaction that looks for them."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import inf
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from analysis.as_json import as_json
from analysis.bar_words import sentence
from panel.errors import OakpanelError
from panel.kinds import ReleaseStatus, Role
from panel.questions.agreed import AGREED, AGREED_THEN, as_agreed, lifted_by_name
from panel.questions.vat_limits import all_asked, limits_from_dict, limits_to_dict
from panel.release.holding import HAIR_L, Agreed, hold_stock
from panel.release.order import not_to_come, refuse
from panel.store.log import append_entry
from panel.store.releases import Release, ReleasePart
from panel.store.targets import StoredTarget
from panel.store.who import acting_person
from panel.store.word_text import name_fault

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import Limits, Mixture, SharesTried, Stock
    from panel.questions.vatting import HouseStock, VatAnswer
    from panel.release.holding import Lying

UNDONE = "Nothing was reserved."
ASK_BY_NAME = "If it is agreed, ask for the cask by name (--with CASK)."


@dataclass(frozen=True)
class ChanceSince:
    """The chance of a release as its casks were kept in a plan, and as it is now."""

    plan: str
    kept_on: date
    then: float
    now: float


@dataclass(frozen=True)
class Proposal:
    """What is to be reserved: for which target, under which limits, and why.

    `exponents` are those that were asked for beside the house's own; disgorging reckons by them.
    `beside` is the mixture as it was chosen where it is to be like a batch before: expectation and
    chance are of that batch's notes there, and of the target's in `mixture`. `since_kept` tells of
    casks of a plan whose chance is another by now.
    """

    target: str
    limits: Limits
    mixture: Mixture
    document: Mapping[str, Any]
    exponents: Mapping[str, float] = field(default_factory=dict)
    reason: str | None = None
    chill_filtered: bool = False
    beside: Mixture | None = None
    since_kept: ChanceSince | None = None


def from_answer(
    answer: VatAnswer, number: int = 1, exponents: Mapping[str, float] | None = None
) -> Proposal:
    """Return the proposal of one of the optimiser's answers, the first by default.

    Raises
    ------
    OakpanelError
        There is no vatting, or not so many answers.
    """
    plan = answer.plan
    choices = plan.answers or (plan.mixture,)
    if not 1 <= number <= len(choices):
        raise OakpanelError(f"There are {len(choices)} answers; there is no number {number}.")
    mixture = choices[number - 1]
    document = {**answer.to_dict(), **mixture.to_dict()}
    for name in ("answers", "prices", "stand_ins", "tightening"):
        document.pop(name, None)
    return Proposal(plan.target, answer.limits, mixture, document, exponents or {})


@dataclass(frozen=True)
class PlanRead:
    """What a plan that `oakpanel vat --json` wrote holds."""

    target: str
    limits: Limits
    litres: Mapping[str, float]
    exponents: Mapping[str, float]


def read_plan(text: str, number: int = 1) -> PlanRead:
    """Return target, limits, litres by cask and exponents by note of one answer of a plan.

    Raises
    ------
    OakpanelError
        It is no such plan, no vatting was found in it, or it has not so many answers.
    """
    try:
        document = json.loads(text)
        answers = document.get("answers") or [document]
        chosen = document if number == 1 else answers[min(number, len(answers)) - 1]
        parts = {str(part["cask"]): float(part["litres"]) for part in chosen["parts"]}
        exponents = {
            str(line["descriptor"]): float(line["exponent"])
            for line in chosen["prediction"]
            if "exponent" in line
        }
        target, limits = str(document["target"]), limits_from_dict(document["limits"])
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise OakpanelError(
            "This is not a plan: give a file that `oakpanel vat TARGET ... --json` wrote."
        ) from error
    if not parts:
        raise OakpanelError("The plan holds no casks: no vatting was found when it was made.")
    if number > len(answers):
        raise OakpanelError(f"There are {len(answers)} answers; there is no number {number}.")
    return PlanRead(target, limits, parts, exponents)


def from_litres(
    db: Session,
    target: str,
    limits: Limits,
    litres: Mapping[str, float],
    *,
    as_of: date,
    with_held: bool = False,
    exponents: Mapping[str, float] | None = None,
    profile: Profile | None = None,
) -> Proposal:
    """Return the proposal of litres chosen by hand or kept in a plan, reckoned anew."""
    from panel.frames import target_of
    from panel.questions.blending import try_litres
    from panel.questions.mixing_rules import mixing_rule
    from panel.questions.vatting import house_limits, house_stock, lawful_limits

    own = mixing_rule(db).exponents
    asked = {name: n for name, n in (exponents or {}).items() if n != own.get(name, 1.0)}
    aim = target_of(db, target)
    house = house_stock(
        db,
        as_of=as_of,
        profile=profile,
        bottling_on=limits.bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
        exponents=asked,
    )
    bound = lawful_limits(house, house_limits(db, limits))
    if with_held:
        bound = all_asked(house.stock, bound)
    litres = {cask: _all_of_it(house.stock, cask, amount) for cask, amount in litres.items()}
    tried = try_litres(house, litres, aim, bound)
    return replace(from_tried(house, target, bound, tried), exponents=asked)


def from_tried(house: HouseStock, target: str, limits: Limits, tried: SharesTried) -> Proposal:
    """Return the proposal of litres that were tried on the house's stock."""
    from panel.questions.law_checks import law_checks, to_be_looked_at

    about = (house.laws, house.stock, tried.mixture)
    checks = [each.sentence for each in law_checks(*about, limits)]
    document = {
        "target": target,
        **tried.to_dict(),
        "limits": limits_to_dict(limits),
        "checks": [*checks, *to_be_looked_at(*about)],
    }
    return Proposal(target, limits, tried.mixture, document)


def _all_of_it(stock: Stock, cask: str, litres: float) -> float:
    """All that is in a cask where a rounded figure means that, or all is asked for (infinite)."""
    row = stock.position.get(cask)
    if row is None:
        return litres
    held = float(stock.bulk_litres[row])
    return held if litres == inf or abs(held - litres) <= HAIR_L else litres


def propose(
    db: Session, name: str, proposal: Proposal, *, as_of: date, now: datetime, by: str | None
) -> Release:
    """Write a release and reserve its casks; in a write transaction.

    Raises
    ------
    ReleaseError
        The name is taken or empty, or the day is to come.
    NotInStock
        A cask is not there, another release has it, or its records bar it unasked.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER, on=as_of)
    refuse(UNDONE, [*_name_faults(db, name), *not_to_come(db, as_of, now)])
    parts = {part.cask: part for part in proposal.mixture.parts}
    litres = {cask: part.litres for cask, part in parts.items()}
    lying = hold_stock(
        db, litres, as_of=as_of, limits=proposal.limits, undone=UNDONE, remedy=ASK_BY_NAME
    )
    release = _release(db, name, proposal, as_of, _agreed(lying, proposal.limits))
    release.proposed_by = person.code
    for cask, given in parts.items():
        release.parts.append(
            ReleasePart(
                filling_id=lying[cask].state.filling_id,
                litres=given.litres,
                abv=given.abv_percent,
                whole=given.litres_left <= HAIR_L,
            )
        )
    db.add(release)
    db.flush()
    details = {"release": name, "target": proposal.target, "casks": sorted(litres)}
    append_entry(db, at=now, by=person.code, action="release proposed", details=details)
    return release


def _agreed(lying: Mapping[str, Lying], limits: Limits) -> dict[str, Any]:
    """What is agreed to by name of some casks today, as it is told and as it is compared."""
    told, stood = [], []
    for cask, held in lying.items():
        for barred in lifted_by_name(held.bars, limits.allowed(cask, whole=False)):
            told.append(as_json(Agreed(cask, barred.bar, sentence(cask, barred))))
            stood.append(as_json(as_agreed(cask, barred)))
    return {AGREED: told, AGREED_THEN: stood}


def _name_faults(db: Session, name: str) -> Iterator[str]:
    if not name.strip():
        yield "Give the release a name."
    elif wrong := name_fault(name):
        yield f"The release's name {wrong}."
    elif db.scalar(select(Release.id).where(Release.name == name)) is not None:
        yield f"There is a release {name!r} already; give this one another name."


def _release(
    db: Session, name: str, proposal: Proposal, as_of: date, agreed: Mapping[str, Any]
) -> Release:
    limits, poured = proposal.limits, proposal.mixture.poured
    kept = {**proposal.document, "exponents": dict(proposal.exponents), **agreed}
    return Release(
        name=name,
        target_id=db.scalar(select(StoredTarget.id).where(StoredTarget.name == proposal.target)),
        status=ReleaseStatus.PROPOSED,
        planned_on=as_of,
        reason=proposal.reason,
        bottling_on=limits.bottling_on,
        age_statement_years=limits.age_statement_years,
        bottles=poured.bottles or None,
        bottle_ml=limits.bottle_ml,
        abv=limits.abv_percent,
        loss_fraction=limits.loss_fraction,
        chill_filtered=proposal.chill_filtered,
        limits_json=json.dumps(limits_to_dict(limits)),
        predicted_json=json.dumps(kept, default=str),
        parts=[],
        benches=[],
    )

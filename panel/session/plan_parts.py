"""A plan as a person writes it, and the records that its names stand for."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TypeVar

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import PlanRefused
from panel.kinds import USUAL_KIND, Manner, PeatOrder, Role, SessionKind, Stage
from panel.session.assigned import (
    Assigned,
    all_to_all,
    assigned_faults,
    by_assessor,
    people_of,
    samples_of,
)
from panel.session.blueprint import SPECIAL
from panel.session.kinds import HELD
from panel.session.liquids import Liquid, liquids_of
from panel.session.passing_asked import PassingAsked
from panel.store.draws import Draw
from panel.store.finding import nearest_words
from panel.store.key import PlannedDraw
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import PanelSession
from panel.store.training import trainings_of
from panel.store.who import has_role

AUTO = "auto"
AS_DRAFTED = "as drafted"
"""Stands for a duplicate of the draft that gives way: nobody needs to be told which it is."""
T = TypeVar("T")


@dataclass(frozen=True)
class SessionPlan:
    """What the lead asks for. Names are codes of people, labels of draws, descriptors.

    `duplicates` are the draws to pour once more than the others; "auto" lets the secret bits choose
    one (none where `replicates` repeats every draw already), "as drafted" keeps one of the draft of
    that name, unseen. The lines of the sheet stand in the order of the lexicon, whatever the order
    they are named in. A `seed` marks a rehearsal: whoever knows it can work out the codes. Where
    assessors name lines of their own, each names up to `most_words` (the house's number where it is
    None). Where not everybody gets every draw, `assigned` says who gets which,
    or `glasses_each` how many of the draws each gets, and the program chooses which. `peat` says
    where smoky glasses stand; None leaves it open: in flights of their own where that takes no more
    flights, else last. With `after_peat` the duplicate is an unpeated draw and stands behind the
    smoke. `search` times the usual work goes into finding even trays. `passing` says what a passing
    session needs besides.

    Where glasses stand in sets, `replicates` are the sets each. Two products are called alike only
    within `alike_within`, a d-prime, and `stronger` is the draw that was expected to have more of
    what is asked about; both are said before the first glass or not at all. Where the first glass
    of a set is openly marked, `reference` is the draw that always stands there; without one now the
    one does, now the other.

    `stages` are the descriptors that are scored at each stage of a glass; they stand among the
    lines whether or not they are named there too.
    """

    name: str
    assessors: tuple[str, ...]
    draws: tuple[str, ...]
    descriptors: tuple[str, ...]
    held_on: date | None = None
    replicates: int = 1
    reference: str | None = None
    duplicates: tuple[str, ...] = (AUTO,)
    warm_up: str | None = None
    manner: Manner = Manner.NOSE
    may_go_back: bool = True
    codes_per_assessor: bool = False
    pause_s: int | None = None
    pour_ml: float | None = None
    nosing_abv: float | None = None
    seed: int | None = None
    insist: bool = False
    site: str | None = None
    kind: SessionKind = USUAL_KIND
    most_words: int | None = None
    assigned: tuple[Assigned, ...] = ()
    glasses_each: int | None = None
    peat: PeatOrder | None = None
    after_peat: bool = False
    search: int = 1
    passing: PassingAsked | None = None
    alike_within: float | None = None
    stronger: str | None = None
    stages: tuple[str, ...] = ()

    @property
    def trays(self) -> Mapping[str, tuple[str, ...]]:
        """The samples of each assessor: all of them, unless some are assigned."""
        if self.assigned:
            return by_assessor(self.assigned)
        return dict.fromkeys(self.assessors, self.draws)


def settled(plan: SessionPlan) -> SessionPlan:
    """Return a plan with what pairs say of people and samples, where it names none itself.

    Where everybody gets everything nothing is assigned any more: orders are then exact.
    """
    if plan.kind.facts.in_sets:
        # No duplicate is drawn, and smoke stands anywhere, where nobody asked for anything else.
        named = tuple(label for label in plan.duplicates if label != AUTO)
        return replace(plan, duplicates=named, may_go_back=False)
    if plan.kind.facts.traced:
        named = tuple(label for label in plan.duplicates if label != AUTO)
        plan = replace(plan, duplicates=named, may_go_back=False)
    if plan.glasses_each is not None and plan.glasses_each >= len(plan.draws) > 0:
        plan = replace(plan, glasses_each=None)
    if not plan.assigned:
        return plan
    plan = replace(
        plan,
        assessors=plan.assessors or people_of(plan.assigned),
        draws=plan.draws or samples_of(plan.assigned),
    )
    whole = all_to_all(plan.assigned) and not any(
        assigned_faults(plan.assigned, plan.assessors, plan.draws)
    )
    return replace(plan, assigned=()) if whole else plan


@dataclass
class PlanParts:
    """The records found for a plan, with every fault and warning on the way."""

    people: list[Person] = field(default_factory=list)
    draws: list[Draw] = field(default_factory=list)
    reference: Draw | None = None
    warm_up: Draw | None = None
    duplicates: list[Draw] = field(default_factory=list)
    versions: list[DescriptorVersion] = field(default_factory=list)
    liquids: Mapping[int, Liquid] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def all_draws(self) -> list[Draw]:
        """Return every draw of the plan once."""
        named = [*self.draws, self.reference, self.warm_up]
        return list({draw.id: draw for draw in named if draw is not None}.values())


def session_date(plan: SessionPlan) -> date:
    """Return the date of a plan, which planning fills in where the lead gave none."""
    if plan.held_on is None:
        raise PlanRefused(f"Session {plan.name!r} has no date yet.")
    return plan.held_on


def find_parts(db: Session, plan: SessionPlan) -> PlanParts:
    """Look up every name of a plan; what is wrong is gathered, not raised."""
    parts = PlanParts()
    _find_people(db, plan, session_date(plan), parts)
    _find_draws(db, plan, parts)
    if plan.assigned:
        compared = not plan.kind.facts.passes
        parts.faults += assigned_faults(
            plan.assigned, plan.assessors, plan.draws, compared=compared
        )
    _find_descriptors(db, plan, session_date(plan), parts)
    parts.liquids = liquids_of(db, parts.all_draws(), session_date(plan))
    return parts


def repeated(names: Iterable[str]) -> list[str]:
    """Return the names that stand more than once."""
    return [name for name, count in Counter(names).items() if count > 1]


def _each(
    names: Iterable[str], known: dict[str, T], what: str, faults: list[str]
) -> Iterable[tuple[str, T]]:
    """Give each known name once with its record; name the others and the repeated ones."""
    names = list(names)
    faults += [f"{what} {name!r} stands twice in the plan." for name in repeated(names)]
    for name in dict.fromkeys(names):
        if name in known:
            yield name, known[name]
        else:
            faults.append(f"There is no {what.lower()} {name!r}.{nearest_words(name, known)}")


def _find_people(db: Session, plan: SessionPlan, on: date, parts: PlanParts) -> None:
    known = {person.code: person for person in db.scalars(select(Person))}
    if not plan.assessors:
        parts.faults.append("The plan names no assessor.")
    for code, person in _each(plan.assessors, known, "Assessor", parts.faults):
        if fault := seat_fault(db, person, plan.kind, on):
            parts.faults.append(f"{code} {fault}")
        parts.people.append(person)


def person_fault(person: Person, on: date) -> str | None:
    """Return why a person cannot assess on a date, or None."""
    if not has_role(person, Role.ASSESSOR):
        return f"is no assessor. Give the role with `oakpanel people role {person.code} +assessor`."
    if person.left_on is not None and person.left_on <= on:
        return f"left on {person.left_on}."
    if person.joined_on is not None and person.joined_on > on:
        return f"joins on {person.joined_on}, after the session."
    return None


def seat_fault(db: Session, person: Person, kind: SessionKind, on: date) -> str | None:
    """Return why a person cannot sit in a session of a kind on a date, or None."""
    holding = [each for each in trainings_of(db, person) if each.holds_on(on)]
    if not kind.facts.pooled and holding:
        ends = holding[-1].taken_in_on
        way_out = (
            f"take them in first (`oakpanel training take-in {person.code}`)"
            if ends is None
            else f"hold it from {ends} on: they are one of the panel from that day"
        )
        return (
            f"is in training, and what is {kind.facts.scored} would count. Leave them out, or "
            f"{way_out}."
        )
    return person_fault(person, on)


def _find_draws(db: Session, plan: SessionPlan, parts: PlanParts) -> None:
    known = {draw.label: draw for draw in db.scalars(select(Draw))}

    def find(label: str | None) -> Draw | None:
        labels = [label] if label else []
        return next((draw for _, draw in _each(labels, known, "Draw", parts.faults)), None)

    if not plan.draws:
        parts.faults.append("The plan names no draw to nose.")
    parts.draws = [draw for _, draw in _each(plan.draws, known, "Draw", parts.faults)]
    parts.reference, parts.warm_up = find(plan.reference), find(plan.warm_up)
    _find_duplicates(plan, parts)
    parts.duplicates += _as_drafted(db, plan, parts)
    among = plan.kind.facts.marks_reference
    special = (("reference", None if among else plan.reference), ("warm-up glass", plan.warm_up))
    for what, label in special:
        if label is not None and label in plan.draws:
            parts.faults.append(
                f"{label!r} is both a draw to nose and the {what}: give the {what} a draw of its "
                "own, or leave it out of the draws."
            )
    parts.faults += [
        f"Draw {draw.label!r} was taken on {draw.drawn_on}, after the session."
        for draw in parts.all_draws()
        if draw.drawn_on is not None and draw.drawn_on > session_date(plan)
    ]


def _find_duplicates(plan: SessionPlan, parts: PlanParts) -> None:
    named = [label for label in plan.duplicates if label not in {AUTO, AS_DRAFTED}]
    parts.faults += [f"Duplicate {label!r} stands twice in the plan." for label in repeated(named)]
    nosed = {draw.label: draw for draw in parts.draws}
    for label in dict.fromkeys(named):
        if label in nosed:
            parts.duplicates.append(nosed[label])
        else:
            near = nearest_words(label, plan.draws)
            parts.faults.append(f"The duplicate {label!r} is none of the draws.{near}")


def _as_drafted(db: Session, plan: SessionPlan, parts: PlanParts) -> list[Draw]:
    """Return the duplicates of the draft that gives way, as far as they are nosed still.

    In the place of one that is not, the secret bits choose another.
    """
    wanted = plan.duplicates.count(AS_DRAFTED)
    draft = db.scalar(select(PanelSession.id).where(PanelSession.name == plan.name))
    twice = [] if draft is None or not wanted else doubled(db, draft)
    left = [row.draw for row in twice if row.draw in parts.draws]
    return [draw for draw in left if draw not in parts.duplicates][:wanted]


def doubled(db: Session, session_id: int) -> list[PlannedDraw]:
    """Return what a plan pours more often than the other draws that are nosed."""
    rows = select(PlannedDraw).where(PlannedDraw.session_id == session_id)
    nosed = [row for row in db.scalars(rows.order_by(PlannedDraw.place)) if row.kind not in SPECIAL]
    least = min((row.glasses for row in nosed), default=1)
    return [row for row in nosed if row.glasses > least]


def current_versions(db: Session, on: date) -> dict[str, DescriptorVersion]:
    """Return the version of every descriptor that stands on a date, retired or not."""
    versions = (
        select(Descriptor.name, DescriptorVersion)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .order_by(Descriptor.id, DescriptorVersion.version)
    )
    newest: dict[str, DescriptorVersion] = {}
    for name, version in db.execute(versions):
        if name not in newest or not is_ahead(version, on):
            newest[name] = version
    return newest


def is_retired(version: DescriptorVersion, on: date) -> bool:
    """Say whether a descriptor is no longer scored on a date."""
    return version.retired_on is not None and version.retired_on <= on


def is_ahead(version: DescriptorVersion, on: date) -> bool:
    """Say whether a descriptor is not scored yet on a date."""
    return version.introduced_on is not None and version.introduced_on > on


def lexicon_names(db: Session, manner: Manner, on: date) -> tuple[str, ...]:
    """Return every descriptor that a session of this manner can score on a date."""
    return tuple(
        name
        for name, version in current_versions(db, on).items()
        if not (is_retired(version, on) or is_ahead(version, on))
        and (manner is Manner.TASTE or version.stage is Stage.NOSE)
    )


def _find_descriptors(db: Session, plan: SessionPlan, on: date, parts: PlanParts) -> None:
    known = current_versions(db, on)
    parts.faults += HELD[plan.kind].line_faults(plan)
    for name, version in _each(plan.descriptors, known, "Descriptor", parts.faults):
        if is_retired(version, on):
            parts.faults.append(f"Descriptor {name!r} was retired on {version.retired_on}.")
        elif is_ahead(version, on):
            parts.faults.append(
                f"Descriptor {name!r} comes in on {version.introduced_on}, after the session."
            )
        parts.versions.append(version)
    in_lexicon = {version.id: place for place, version in enumerate(known.values())}
    parts.versions.sort(key=lambda version: in_lexicon[version.id])

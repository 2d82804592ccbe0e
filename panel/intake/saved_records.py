"""The rows of each kind of record as they are saved: what loading reads, in a fixed order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session, aliased, selectinload

from panel.intake.assessors import NO_ROLE
from panel.intake.casks import COLUMNS as CASK_COLUMNS
from panel.intake.kinds import Kind
from panel.intake.parts import write_parts
from panel.kinds import EventKind
from panel.store.casks import (
    Cask,
    Filling,
    FillingEvent,
    Make,
    Regauge,
    standing,
    told_entry,
)
from panel.store.draw_looks import looks_shown
from panel.store.draws import Draw, DrawPart
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.stock_plans import PlannedRelease, StoredPlan
from panel.store.targets import StoredTarget, StoredTargetLine

Values = Sequence[Any]


@dataclass(frozen=True)
class Sheet:
    """Headings and the rows under them."""

    headings: tuple[str, ...]
    rows: Iterator[Values]


def saved_makes(db: Session) -> Sheet:
    """Return all makes by name."""
    columns = {
        "make": Make.name,
        "site": Make.site,
        "cereal": Make.cereal,
        "phenol_ppm": Make.phenol_ppm,
        "campaign": Make.campaign,
        "note": Make.note,
    }
    return _sheet(db, columns, lambda query: query, ("make",))


def saved_casks(db: Session) -> Sheet:
    """Return all fillings by cask and day; a cask that was never filled as its wood alone."""
    named = {
        "cask": Cask.number,
        "wood": Cask.wood,
        "size_l": Cask.size_l,
        "filling": Filling.label,
        "make": Make.name,
        "emptied_on": _emptied_on(),
        "note": Cask.note,
    }
    columns = {
        name: named[name] if name in named else getattr(Filling, name)
        for name in CASK_COLUMNS.known
    }
    return _sheet(
        db,
        columns,
        lambda query: (
            query.select_from(Cask)
            .outerjoin(Filling, Filling.cask_id == Cask.id)
            .outerjoin(Make, Make.id == Filling.make_id)
        ),
        ("cask", "filled_on", "filling"),
    )


def _emptied_on() -> Any:
    return (
        select(func.min(FillingEvent.happened_on))
        .where(FillingEvent.filling_id == Filling.id, FillingEvent.kind == EventKind.EMPTIED)
        .where(standing())
        .correlate(Filling)
        .scalar_subquery()
    )


def saved_events(db: Session) -> Sheet:
    """Return all events by filling and day."""
    parent = aliased(Filling)
    columns = {
        "filling": Filling.label,
        "kind": FillingEvent.kind,
        "happened_on": FillingEvent.happened_on,
        "entry": told_entry(),
        "parent": parent.label,
        "litres": FillingEvent.litres,
        "abv": FillingEvent.abv,
        "site": FillingEvent.site,
        "warehouse": FillingEvent.warehouse,
        "row": FillingEvent.row,
        "tier": FillingEvent.tier,
        "note": FillingEvent.note,
    }
    return _sheet(
        db,
        columns,
        lambda query: (
            query.select_from(FillingEvent)
            .join(Filling, Filling.id == FillingEvent.filling_id)
            .outerjoin(parent, parent.id == FillingEvent.parent_filling_id)
            .where(standing())
        ),
        ("filling", "happened_on", "kind", "parent", "entry"),
    )


def saved_regauges(db: Session) -> Sheet:
    """Return all regauges by filling and day."""
    columns = {
        "filling": Filling.label,
        "gauged_on": Regauge.gauged_on,
        "bulk_l": Regauge.bulk_l,
        "abv": Regauge.abv,
        "method": Regauge.method,
        "temperature_c": Regauge.temperature_c,
        "note": Regauge.note,
    }
    return _sheet(
        db,
        columns,
        lambda query: query.select_from(Regauge).join(Filling, Filling.id == Regauge.filling_id),
        ("filling", "gauged_on"),
    )


def saved_draws(db: Session) -> Sheet:
    """Return all samples by label; colour and clarity once what poured them is revealed."""
    headings = (
        *("sample", "kind", "filling", "batch", "drawn_on", "abv", "volume_ml"),
        *("reduced_to", "parts", "reason", "fate", "colour", "clarity", "note"),
    )
    found = select(Draw).options(
        selectinload(Draw.filling), selectinload(Draw.parts).selectinload(DrawPart.filling)
    )
    draws = sorted(db.scalars(found), key=lambda draw: draw.label)
    shown = looks_shown(db, [draw.id for draw in draws])
    return Sheet(headings, (_draw(draw, look=draw.id in shown) for draw in draws))


def _draw(draw: Draw, *, look: bool) -> Values:
    parts = {part.filling.label: part.millilitres for part in draw.parts}
    return (
        *(draw.label, draw.kind, draw.filling.label if draw.filling else None, draw.batch),
        *(draw.drawn_on, draw.abv, draw.volume_ml, draw.reduced_to),
        *(write_parts(parts) or None, draw.reason, draw.fate),
        *((draw.colour, draw.clarity) if look else (None, None)),
        draw.note,
    )


def saved_lexicon(db: Session) -> Sheet:
    """Return all versions of all descriptors by name."""
    columns = {
        "descriptor": Descriptor.name,
        "stage": DescriptorVersion.stage,
        "low_words": DescriptorVersion.low_words,
        "high_words": DescriptorVersion.high_words,
        "version": DescriptorVersion.version,
        "meaning": DescriptorVersion.meaning,
        "reference": DescriptorVersion.reference_recipe,
        "pools_with_previous": DescriptorVersion.pools_with_previous,
        "introduced_on": DescriptorVersion.introduced_on,
        "retired_on": DescriptorVersion.retired_on,
        "ought_to_be_absent": DescriptorVersion.ought_to_be_absent,
    }
    return _sheet(
        db,
        columns,
        lambda query: query.select_from(DescriptorVersion).join(
            Descriptor, Descriptor.id == DescriptorVersion.descriptor_id
        ),
        ("descriptor", "version"),
    )


def saved_assessors(db: Session, *, names: bool) -> Sheet:
    """Return all people by code; their real names only where that was asked."""
    headings = ("assessor", "roles", "joined_on", "left_on", *(["name"] if names else []))
    found = select(Person).options(selectinload(Person.roles), selectinload(Person.name))
    people = sorted(db.scalars(found), key=lambda person: person.code)
    return Sheet(headings, (_person(person, names=names) for person in people))


def _person(person: Person, *, names: bool) -> Values:
    roles = "+".join(sorted(held.role.value for held in person.roles)) or NO_ROLE
    name = [person.name.full_name if person.name else None] if names else []
    return (person.code, roles, person.joined_on, person.left_on, *name)


def saved_targets(db: Session) -> Sheet:
    """Return the lines of all targets."""
    columns = {
        "target": StoredTarget.name,
        "descriptor": Descriptor.name,
        "aim": StoredTargetLine.aim,
        "tolerance": StoredTargetLine.tolerance,
        "weight": StoredTargetLine.weight,
    }
    return _sheet(
        db,
        columns,
        lambda query: (
            query.select_from(StoredTargetLine)
            .join(StoredTarget, StoredTarget.id == StoredTargetLine.target_id)
            .join(Descriptor, Descriptor.id == StoredTargetLine.descriptor_id)
            .order_by(StoredTargetLine.place)
        ),
        ("target",),
    )


def saved_plans(db: Session) -> Sheet:
    """Return all plans of the stock: what holds for the whole of one, then its releases."""
    headings = ("plan", "release", "year", "target", "bottles", "abv", "age", "rule_set", "limits")
    found = select(StoredPlan).options(
        selectinload(StoredPlan.releases).joinedload(PlannedRelease.target, innerjoin=True)
    )
    plans = sorted(db.scalars(found), key=lambda plan: plan.name)
    return Sheet(headings, (row for plan in plans for row in _plan_rows(plan)))


def _plan_rows(plan: StoredPlan) -> Iterator[Values]:
    if plan.limits is not None:
        yield (plan.name, *(None,) * 7, plan.limits)
    for one in plan.releases:
        yield (
            *(plan.name, one.name, one.year, one.target.name, one.bottles, one.abv),
            *(one.age_years, one.rule_set, one.limits),
        )


def _sheet(
    db: Session,
    columns: dict[str, Any],
    joined: Callable[[Any], Any],
    order: Sequence[str],
) -> Sheet:
    """Return the joined columns, sorted here: each database has its own order of letters."""
    headings = tuple(columns)
    places = [headings.index(name) for name in order]

    def key(row: Values) -> tuple[Any, ...]:
        return tuple((row[i] is not None, row[i]) for i in places)

    found = db.execute(joined(select(*columns.values())))
    return Sheet(headings, iter(sorted((tuple(row) for row in found), key=key)))


SAVED: dict[Kind, Callable[[Session], Sheet]] = {
    Kind.MAKES: saved_makes,
    Kind.CASKS: saved_casks,
    Kind.EVENTS: saved_events,
    Kind.REGAUGES: saved_regauges,
    Kind.DRAWS: saved_draws,
    Kind.LEXICON: saved_lexicon,
    Kind.TARGETS: saved_targets,
    Kind.PLANS: saved_plans,
}

"""The parts that test houses are made of: in code, so that each test sees what it stands on."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from sqlalchemy.orm import Session

from panel.kinds import DrawKind, EventKind, GaugeMethod, Role, Stage
from panel.store.casks import (
    Cask,
    Filling,
    FillingEvent,
    Make,
    Regauge,
)
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person, PersonName, PersonRole
from panel.store.targets import StoredTarget, StoredTargetLine

FILLED_ON = date(2012, 5, 1)


def person(
    code: str,
    *roles: Role,
    joined_on: date | None = None,
    name: str | None = None,
    pin_hash: str | None = None,
) -> Person:
    """Somebody of the house; an assessor unless it is said otherwise."""
    return Person(
        code=code,
        joined_on=joined_on,
        pin_hash=pin_hash,
        name=None if name is None else PersonName(full_name=name),
        roles=[PersonRole(role=role) for role in roles or (Role.ASSESSOR,)],
    )


def descriptor(
    name: str,
    *,
    stage: Stage = Stage.NOSE,
    low_words: str = "none",
    high_words: str = "very strong",
    meaning: str | None = None,
    retired_on: date | None = None,
) -> DescriptorVersion:
    """A descriptor with its first version, by that version."""
    return DescriptorVersion(
        descriptor=Descriptor(name=name),
        version=1,
        stage=stage,
        low_words=low_words,
        high_words=high_words,
        meaning=meaning,
        retired_on=retired_on,
    )


def target(
    name: str, lines: Iterable[tuple[DescriptorVersion, float]], tolerance: float
) -> StoredTarget:
    """A target with an aim for each descriptor and one tolerance for all."""
    return StoredTarget(
        name=name,
        lines=[
            StoredTargetLine(
                descriptor=version.descriptor, place=place, aim=aim, tolerance=tolerance
            )
            for place, (version, aim) in enumerate(lines, 1)
        ],
    )


def new_make(name: str, phenol_ppm: float = 1.0, site: str = "Sallow Weir") -> Make:
    return Make(name=name, site=site, cereal="barley", phenol_ppm=phenol_ppm)


def add_make(db: Session, name: str = "Sallow plain", phenol_ppm: float = 1.0) -> Make:
    make = new_make(name, phenol_ppm)
    db.add(make)
    return make


def new_filling(
    number: str,
    make: Make | None,
    *,
    filled_on: date = FILLED_ON,
    label: str | None = None,
    wood: str = "American oak",
    size_l: float = 200.0,
    fill_abv: float = 63.5,
    fill_bulk_l: float = 190.0,
    fill_number: int = 1,
    site: str | None = None,
    warehouse: str | None = None,
) -> Filling:
    """A cask with what is in it, by its filling."""
    return Filling(
        label=label or f"{number}/1",
        cask=Cask(number=number, wood=wood, size_l=size_l),
        make=make,
        filled_on=filled_on,
        fill_number=fill_number,
        fill_abv=fill_abv,
        fill_bulk_l=fill_bulk_l,
        site=site,
        warehouse=warehouse,
    )


def add_filling(db: Session, number: str, make: Make | None, **values: Any) -> Filling:
    """Add a cask that lies in the Low Store; *values* as :func:`new_filling` takes them."""
    filling = new_filling(number, make, **{"warehouse": "Low Store", **values})
    db.add(filling)
    return filling


def add_regauge(
    db: Session,
    filling: Filling,
    on: date,
    bulk_l: float,
    abv: float,
    note: str | None = None,
    method: GaugeMethod = GaugeMethod.DIPPED,
) -> None:
    db.add(Regauge(filling=filling, gauged_on=on, bulk_l=bulk_l, abv=abv, method=method, note=note))


def add_event(
    db: Session,
    filling: Filling,
    kind: EventKind,
    on: date,
    *,
    parent: Filling | None = None,
    litres: float | None = None,
    abv: float | None = None,
    warehouse: str | None = None,
    note: str | None = None,
) -> None:
    event = FillingEvent(
        filling=filling,
        kind=kind,
        happened_on=on,
        parent=parent,
        litres=litres,
        abv=abv,
        warehouse=warehouse,
        note=note,
    )
    db.add(event)


def add_draw(db: Session, label: str, filling: Filling | None, **values: object) -> Draw:
    kind = DrawKind.CASK if filling is not None else DrawKind.REFERENCE
    draw = Draw(label=label, kind=values.pop("kind", kind), filling=filling, **values)
    db.add(draw)
    return draw

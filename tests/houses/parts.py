"""A small stock of casks for tests: made in code, so that each test sees what it stands on."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Session

from panel.kinds import DrawKind, EventKind, GaugeMethod
from panel.store.casks import (
    Cask,
    Filling,
    FillingEvent,
    Make,
    Regauge,
)
from panel.store.draws import Draw

FILLED_ON = date(2012, 5, 1)


def add_make(db: Session, name: str = "Sallow plain", phenol_ppm: float = 1.0) -> Make:
    make = Make(name=name, site="Sallow Weir", cereal="barley", phenol_ppm=phenol_ppm)
    db.add(make)
    return make


def add_filling(
    db: Session,
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
) -> Filling:
    cask = Cask(number=number, wood=wood, size_l=size_l)
    filling = Filling(
        label=label or f"{number}/1",
        cask=cask,
        make=make,
        filled_on=filled_on,
        fill_number=fill_number,
        fill_abv=fill_abv,
        fill_bulk_l=fill_bulk_l,
        warehouse="Low Store",
    )
    db.add(filling)
    return filling


def add_regauge(
    db: Session, filling: Filling, on: date, bulk_l: float, abv: float, note: str | None = None
) -> None:
    method = GaugeMethod.DIPPED
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

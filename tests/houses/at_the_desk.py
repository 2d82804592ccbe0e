"""A very small house for the desk's tests: some records have a name that looks like markup."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Session

from panel.kinds import DrawKind, EventKind, GaugeMethod, Role
from panel.store.casks import (
    Cask,
    Filling,
    FillingEvent,
    Make,
    Regauge,
)
from panel.store.draws import Draw
from panel.store.engine import Store
from tests.houses.kept import kept
from tests.houses.parts import descriptor, new_filling, new_make, person, target

NASTY = "[/x]"
ASSESSORS = ("AB", "CD", "EF", "GH")
DESCRIPTORS = ("wet hay", "orchard fruit", "bonfire", NASTY)


@kept
def build(store: Store) -> None:
    """Write the house."""
    with store.write() as db:
        _people(db)
        _casks(db)
        _draws(db)
        _lexicon(db)


def _people(db: Session) -> None:
    db.add(person("LD", Role.LEAD, joined_on=date(2020, 1, 6)))
    for code in ASSESSORS:
        db.add(person(code, joined_on=date(2021, 3, 1)))


def _casks(db: Session) -> None:
    make = new_make("Low Weir", 2.0, site="Sallow")
    smoky = new_make("Peat Weir", 38.0, site="Sallow")
    for number in range(1, 7):
        db.add(_filling(f"SW{number}", make if number < 4 else smoky, date(2010 + number, 5, 1)))
    nasty = _filling(NASTY, make, date(2015, 5, 1))
    nasty.owner = nasty.cask.note = NASTY
    db.add(nasty)
    db.add(Cask(number="SW10", wood="chestnut butt", size_l=500))
    db.flush()
    _happenings(db)


def _filling(number: str, make: Make, filled_on: date) -> Filling:
    return new_filling(
        number,
        make,
        wood="oak barrel",
        filled_on=filled_on,
        fill_bulk_l=195,
        site="Sallow",
        warehouse="2",
    )


def _happenings(db: Session) -> None:
    leaking = db.query(Filling).filter_by(label="SW2/1").one()
    day = date(2024, 6, 1)
    db.add(FillingEvent(filling=leaking, kind=EventKind.LEAK_FOUND, happened_on=day, note=NASTY))
    gauged = db.query(Filling).filter_by(label="SW1/1").one()
    db.add(
        Regauge(
            filling=gauged,
            gauged_on=date(2025, 10, 2),
            bulk_l=160.0,
            abv=58.2,
            method=GaugeMethod.WEIGHED,
        )
    )


def _draws(db: Session) -> None:
    for number in range(1, 7):
        filling = db.query(Filling).filter_by(label=f"SW{number}/1").one()
        db.add(
            Draw(
                label=f"D{number}",
                kind=DrawKind.CASK,
                filling_id=filling.id,
                drawn_on=date(2026, 2, number),
                abv=58.0,
                volume_ml=300,
            )
        )
    db.add(Draw(label="House reference", kind=DrawKind.REFERENCE, batch="R7", abv=46.0))
    db.add(Draw(label="Warm-up", kind=DrawKind.REFERENCE, batch="W1", abv=46.0))


def _lexicon(db: Session) -> None:
    words = [descriptor(name, meaning=f"what {name} means") for name in DESCRIPTORS]
    db.add_all(words)
    db.add(target("Spring vatting", [(word, 40.0) for word in words], tolerance=10.0))

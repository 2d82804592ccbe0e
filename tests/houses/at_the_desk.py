"""A very small house for the desk's tests: some records have a name that looks like markup."""

from __future__ import annotations

from datetime import date

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
from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person, PersonRole
from panel.store.targets import StoredTarget, StoredTargetLine

NASTY = "[/x]"
ASSESSORS = ("AB", "CD", "EF", "GH")
DESCRIPTORS = ("wet hay", "orchard fruit", "bonfire", NASTY)


def build(store: Store) -> None:
    """Write the house."""
    with store.write() as db:
        _people(db)
        _casks(db)
        _draws(db)
        _lexicon(db)


def _people(db: Session) -> None:
    db.add(Person(code="LD", joined_on=date(2020, 1, 6), roles=[PersonRole(role=Role.LEAD)]))
    for code in ASSESSORS:
        db.add(
            Person(code=code, joined_on=date(2021, 3, 1), roles=[PersonRole(role=Role.ASSESSOR)])
        )


def _casks(db: Session) -> None:
    make = Make(name="Low Weir", site="Sallow", cereal="barley", phenol_ppm=2.0)
    smoky = Make(name="Peat Weir", site="Sallow", cereal="barley", phenol_ppm=38.0)
    for number in range(1, 7):
        db.add(_cask(f"SW{number}", make if number < 4 else smoky, date(2010 + number, 5, 1)))
    nasty = _cask(NASTY, make, date(2015, 5, 1))
    nasty.fillings[0].owner = NASTY
    nasty.note = NASTY
    db.add(nasty)
    db.add(Cask(number="SW10", wood="chestnut butt", size_l=500))
    db.flush()
    _happenings(db)


def _cask(number: str, make: Make, filled_on: date) -> Cask:
    cask = Cask(number=number, wood="oak barrel", size_l=200)
    cask.fillings.append(
        Filling(
            label=f"{number}/1",
            make=make,
            filled_on=filled_on,
            fill_number=1,
            fill_abv=63.5,
            fill_bulk_l=195,
            site="Sallow",
            warehouse="2",
        )
    )
    return cask


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
    target = StoredTarget(name="Spring vatting")
    for place, name in enumerate(DESCRIPTORS):
        word = Descriptor(name=name)
        word.versions.append(
            DescriptorVersion(
                version=1,
                stage=Stage.NOSE,
                low_words="none",
                high_words="very strong",
                meaning=f"what {name} means",
            )
        )
        db.add(word)
        line = StoredTargetLine(descriptor=word, place=place, aim=40.0, tolerance=10.0, weight=1.0)
        target.lines.append(line)
    db.add(target)

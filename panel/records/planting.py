"""What is kept to be planted in passing: known-sound spirit, and spikes made on it.

Somebody trained makes a spike up, with the safety sheet of what went in; which families there are
the noses are told beforehand, and nobody is asked what they cannot bear.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.kinds import DrawKind, Fault
from panel.records.deed import deed
from panel.store.draws import Draw
from panel.store.finding import nearest_words
from panel.store.people import Person
from panel.store.planted import Planted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date, datetime

    from sqlalchemy.orm import Session

MAKING = (
    "Make spikes up in small volumes, ventilated, away from any flame or spark, with gloves and "
    "glasses as the safety sheet asks: the rules of your house and place come first."
)
NOSE_ONLY = (
    "A spiked glass is nosed only, never tasted. What is left is destroyed after the session and "
    "stands in the register (`oakpanel register session NAME --spikes ...`)."
)


@dataclass(frozen=True)
class SpikeMade:
    """A spike as somebody made it up: stock and how much of it, where its safety sheet lies."""

    label: str
    fault: Fault
    base: str
    stock: str
    safety_sheet: str
    made_by: str | None = None
    """Whoever keeps it, where nobody is named."""
    abv_percent: float | None = None
    """That of the base, where it was not measured."""
    volume_ml: float | None = None
    made_on: date | None = None


@dataclass(frozen=True)
class PlantedLine:
    """A draw that is kept to be planted; `fault` is None where it is known to be sound."""

    sample: str
    fault: Fault | None
    base: str | None
    make: str | None
    made_by: str
    made_on: date
    stock: str | None
    safety_sheet: str | None
    fate: str | None
    """What became of it; while that is open it may be poured."""
    parcel: str | None
    """Of whose casks it is, where it is known to be sound: no session passes it with them."""

    def kept_words(self) -> str:
        """Return what is said once it is kept as known to be sound."""
        kept = f"{self.sample} is kept as known to be sound"
        if self.parcel is None:
            return f"{kept}."
        return f"{kept}: no session passes this sample with the parcel {self.parcel} any more."


def keep_sound(
    db: Session, sample: str, *, made_by: str | None = None, now: datetime, by: str | None
) -> PlantedLine:
    """Keep a draw as known to be sound: poured as it is, and what spikes are made on.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such sample or person; or whoever acts does not lead.
    EntriesAtFault
        It is from no cask, is on hold, or is kept to be planted already.
    """
    with deed(db, "known-sound spirit kept", now=now, by=by) as done:
        draw = _draw(db, sample)
        said_by = made_by or done.by
        faults = dict(_sound_faults(db, draw, said_by))
        if faults:
            raise EntriesAtFault(faults)
        row = Planted(draw=draw, made_by=said_by, made_on=done.on)
        db.add(row)
        db.flush()
        done.details.update(sample=sample)
        return _line(row)


def _sound_faults(db: Session, draw: Draw, said_by: str) -> Iterator[tuple[str, str]]:
    if draw.kind is not DrawKind.CASK or draw.filling is None:
        yield "sample", f"{draw.label} is from no cask: known-sound spirit has a make and a peat"
    elif draw.filling.hold_reason is not None:
        yield "sample", f"{draw.label} is of {draw.filling.label}, which is on hold"
    if db.get(Planted, draw.id) is not None:
        yield "sample", f"{draw.label} is kept to be planted already"
    yield from _person_faults(db, said_by)


def _person_faults(db: Session, code: str) -> Iterator[tuple[str, str]]:
    known = list(db.scalars(select(Person.code)))
    if code not in known:
        yield "made_by", f"there is nobody of the code {code!r}.{nearest_words(code, known)}"


def keep_spike(db: Session, made: SpikeMade, *, now: datetime, by: str | None) -> PlantedLine:
    """Keep a spike that was made up on a known-sound spirit.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such base; or whoever acts does not lead.
    EntriesAtFault
        The base is not known to be sound, no safety sheet, no stock, no strength, a name that is
        taken; all of it at once.
    """
    with deed(db, "spike kept", now=now, by=by) as done:
        base = _draw(db, made.base)
        on = made.made_on or done.on
        made = replace(
            made,
            made_by=made.made_by or done.by,
            abv_percent=_strength(base) if made.abv_percent is None else made.abv_percent,
        )
        if faults := dict(_spike_faults(db, made, base, on, done.on)):
            raise EntriesAtFault(faults)
        draw = Draw(
            label=made.label.strip(),
            kind=DrawKind.REFERENCE,
            abv=made.abv_percent,
            volume_ml=made.volume_ml,
            drawn_on=on,
            reason="spike for passing",
        )
        db.add(draw)
        row = Planted(draw=draw, fault=made.fault, base=base, made_by=made.made_by or done.by)
        row.made_on = on
        row.stock, row.safety_sheet = made.stock.strip(), made.safety_sheet.strip()
        db.add(row)
        db.flush()
        done.details.update(sample=draw.label, fault=made.fault.value, base=base.label)
        return _line(row)


def _strength(base: Draw) -> float | None:
    """Return the strength that a bottle stands at: what it was reduced to, else as it was drawn."""
    return base.abv if base.reduced_to is None else base.reduced_to


def _spike_faults(
    db: Session, made: SpikeMade, base: Draw, on: date, today: date
) -> Iterator[tuple[str, str]]:
    sound = db.get(Planted, base.id)
    if sound is None or sound.fault is not None:
        yield (
            "base",
            f"{base.label} is not known to be sound: keep it so first (`oakpanel passing sound`)",
        )
    if not made.label.strip():
        yield "label", "name it"
    elif db.scalar(select(Draw.id).where(Draw.label == made.label.strip())) is not None:
        yield "label", f"there is a sample {made.label!r} already"
    if not made.stock.strip():
        yield "stock", "say what was added, and how much of it a litre"
    if not made.safety_sheet.strip():
        yield "safety_sheet", "say where the safety sheet of the stock lies"
    if made.abv_percent is None:
        yield "abv_percent", f"{base.label} was not measured: say the strength of the spike, % vol"
    elif not 0 < made.abv_percent <= 100:
        yield "abv_percent", "% vol above 0, up to 100"
    if made.volume_ml is not None and not 0 < made.volume_ml < float("inf"):
        yield "volume_ml", "mL above zero"
    if on > today:
        yield "made_on", "a day that was, not one to come"
    yield from _person_faults(db, made.made_by or "")


def planted_lines(db: Session) -> list[PlantedLine]:
    """Return what is kept to be planted, by name."""
    asked = select(Planted).join(Planted.draw).order_by(Draw.label)
    return [_line(row) for row in db.scalars(asked)]


def _line(row: Planted) -> PlantedLine:
    held = (row.base or row.draw).filling
    return PlantedLine(
        sample=row.draw.label,
        fault=row.fault,
        base=row.base.label if row.base else None,
        make=held.make.name if held and held.make else None,
        made_by=row.made_by,
        made_on=row.made_on,
        stock=row.stock,
        safety_sheet=row.safety_sheet,
        fate=row.draw.fate,
        parcel=row.draw.filling.parcel if row.draw.filling else None,
    )


def _draw(db: Session, sample: str) -> Draw:
    draw = db.scalar(select(Draw).where(Draw.label == sample))
    if draw is None:
        near = nearest_words(sample, db.scalars(select(Draw.label)))
        raise UnknownRecord(f"There is no sample {sample!r} in the records.{near}")
    return draw

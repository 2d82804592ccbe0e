"""What the desk's lists read: people, descriptors, targets and draws, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import SessionAssessor
from panel.store.targets import Target

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class PersonLine:
    """A person as the list shows them: no name, no hash."""

    code: str
    roles: tuple[str, ...]
    has_pin: bool
    joined_on: date | None
    left_on: date | None
    n_sessions: int

    def is_here(self, on: date) -> bool:
        """Tell whether the person is of the house on a date."""
        joined = self.joined_on is None or self.joined_on <= on
        return joined and (self.left_on is None or self.left_on > on)


def people_lines(db: Session) -> list[PersonLine]:
    """Return everybody by code."""
    seats = select(SessionAssessor.person_id, func.count()).group_by(SessionAssessor.person_id)
    counts = {person_id: count for person_id, count in db.execute(seats)}
    return [
        PersonLine(
            code=person.code,
            roles=tuple(held.role.value for held in person.roles),
            has_pin=person.pin_hash is not None,
            joined_on=person.joined_on,
            left_on=person.left_on,
            n_sessions=counts.get(person.id, 0),
        )
        for person in db.scalars(select(Person).order_by(Person.code))
    ]


@dataclass(frozen=True)
class VersionLine:
    """One version of a descriptor."""

    version: int
    stage: str
    low_words: str
    high_words: str
    meaning: str
    recipe: str
    pools_with_previous: bool
    introduced_on: date | None
    retired_on: date | None


@dataclass(frozen=True)
class DescriptorLine:
    """A descriptor with all its versions, oldest first."""

    name: str
    versions: tuple[VersionLine, ...]

    @property
    def newest(self) -> VersionLine:
        """The version that counts now."""
        return self.versions[-1]

    def is_retired(self, on: date) -> bool:
        """Tell whether it is no longer scored on a date."""
        retired_on = self.newest.retired_on
        return retired_on is not None and retired_on <= on


def descriptor_lines(db: Session) -> list[DescriptorLine]:
    """Return the lexicon by name."""
    found = db.scalars(select(Descriptor).order_by(Descriptor.name))
    return [
        DescriptorLine(each.name, tuple(_version(version) for version in each.versions))
        for each in found
        if each.versions
    ]


def _version(version: DescriptorVersion) -> VersionLine:
    return VersionLine(
        version=version.version,
        stage=version.stage.value,
        low_words=version.low_words,
        high_words=version.high_words,
        meaning=version.meaning or "",
        recipe=version.reference_recipe or "",
        pools_with_previous=version.pools_with_previous,
        introduced_on=version.introduced_on,
        retired_on=version.retired_on,
    )


@dataclass(frozen=True)
class AimLine:
    """What a target asks of one descriptor."""

    descriptor: str
    aim: float
    tolerance: float
    weight: float


@dataclass(frozen=True)
class TargetRecord:
    """A target and its lines."""

    name: str
    lines: tuple[AimLine, ...]


def target_records(db: Session) -> list[TargetRecord]:
    """Return all targets by name."""
    found = db.scalars(select(Target).order_by(Target.name))
    return [
        TargetRecord(
            each.name,
            tuple(
                AimLine(line.descriptor.name, line.aim, line.tolerance, line.weight)
                for line in each.lines
            ),
        )
        for each in found
    ]


@dataclass(frozen=True)
class DrawLine:
    """A draw that could be poured."""

    label: str
    kind: str
    cask: str
    wood: str
    drawn_on: date | None
    abv: float | None
    volume_ml: float | None


def no_draw() -> DrawLine:
    """Return the line that stands for no draw at all."""
    return DrawLine("none", "no duplicate", "", "", None, None, None)


def draw_lines(db: Session) -> list[DrawLine]:
    """Return all draws, the newest first."""
    query = (
        select(
            *(Draw.label, Draw.kind, Cask.number, Cask.wood),
            *(Draw.drawn_on, Draw.abv, Draw.volume_ml),
        )
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .order_by(Draw.drawn_on.desc(), Draw.label)
    )
    return [
        DrawLine(label, kind.value, number or "", wood or "", drawn_on, abv, volume_ml)
        for label, kind, number, wood, drawn_on, abv, volume_ml in db.execute(query)
    ]


def hold_row(db: Session, label: str) -> dict[str, str]:
    """Return a filling as a row of the casks file, as far as its hold needs it."""
    filling = db.scalars(select(Filling).where(Filling.label == label)).one()
    until = filling.hold_until
    return {
        "cask": filling.cask.number,
        "wood": filling.cask.wood,
        "size_l": repr(filling.cask.size_l),
        "filling": filling.label,
        "filled_on": filling.filled_on.isoformat(),
        "fill_number": str(filling.fill_number),
        "fill_abv": repr(filling.fill_abv),
        "fill_bulk_l": repr(filling.fill_bulk_l),
        "hold_reason": filling.hold_reason or "",
        "hold_until": until.isoformat() if until else "",
    }

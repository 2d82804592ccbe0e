"""Targets as they are recorded, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.as_json import AsJson
from panel.errors import UnknownRecord
from panel.store.targets import StoredTarget

if TYPE_CHECKING:
    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class AimLine:
    """What a target asks of one descriptor."""

    descriptor: str
    aim: float
    tolerance: float
    weight: float


@dataclass(frozen=True)
class TargetRecord(AsJson):
    """A target and its lines."""

    name: str
    lines: tuple[AimLine, ...]

    json_keys = (("name", "target"), "lines")


def target_records(db: Session) -> list[TargetRecord]:
    """Return all targets by name."""
    return [_record(each) for each in db.scalars(select(StoredTarget).order_by(StoredTarget.name))]


def target_record(db: Session, name: str) -> TargetRecord:
    """Return one target.

    Raises
    ------
    UnknownRecord
        There is no target of that name.
    """
    found = db.scalar(select(StoredTarget).where(StoredTarget.name == name))
    if found is None:
        names = ", ".join(target_names(db))
        raise UnknownRecord(f"There is no target {name!r}. There are: {names or 'none yet'}.")
    return _record(found)


def target_names(db: Session) -> tuple[str, ...]:
    """Return the names of all targets in their order."""
    return tuple(db.scalars(select(StoredTarget.name).order_by(StoredTarget.name)))


def _record(target: StoredTarget) -> TargetRecord:
    lines = (
        AimLine(line.descriptor.name, line.aim, line.tolerance, line.weight)
        for line in target.lines
    )
    return TargetRecord(target.name, tuple(lines))

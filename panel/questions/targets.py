"""Targets as they are recorded, line by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.store.targets import Target

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

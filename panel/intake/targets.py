"""Targets: aim, tolerance and weight of each descriptor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from panel.intake.cells import ON_THE_LINE, TOLERANCE, WEIGHT, Name, RowModel
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, all_names, change, fetch, refuse_twins
from panel.store.lexicon import Descriptor
from panel.store.targets import StoredTarget, StoredTargetLine

COLUMNS = Columns(
    required=("target", "descriptor", "aim", "tolerance"),
    optional=("weight",),
    numbers=frozenset({"aim", "tolerance", "weight"}),
)


def read_weight(text: str | None) -> float:
    """Return a weight, 1 for an empty cell."""
    weight = WEIGHT.read(text)
    return 1.0 if weight is None else weight


class TargetRow(RowModel):
    """One descriptor of one target."""

    target: Name
    descriptor: Name
    aim: Annotated[float, BeforeValidator(ON_THE_LINE)]
    tolerance: Annotated[float, BeforeValidator(TOLERANCE)]
    weight: Annotated[float, BeforeValidator(read_weight)] = 1.0


def take_targets(load: Load, rows: Sequence[TargetRow]) -> None:
    """Add targets and lines and bring known ones up to date."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.target, row.descriptor),
        "descriptor",
        lambda key: f"{key[1]} of target {key[0]}",
    )
    found = select(StoredTarget).options(
        selectinload(StoredTarget.lines).joinedload(StoredTargetLine.descriptor, innerjoin=True)
    )
    targets = fetch(load.db, found, StoredTarget.name, {row.target for row in rows})
    words = fetch(load.db, select(Descriptor), Descriptor.name, {row.descriptor for row in rows})
    intake = _Intake(load, {one.name: one for one in targets}, {word.name: word for word in words})
    for row in load.going(rows):
        intake.take(row)


@dataclass
class _Intake:
    load: Load
    targets: dict[str, StoredTarget]
    descriptors: dict[str, Descriptor]

    def take(self, row: TargetRow) -> None:
        descriptor = self.descriptors.get(row.descriptor)
        if descriptor is None:
            names = all_names(self.load.db, Descriptor.name)
            self.load.unknown(row.at, "descriptor", row.descriptor, "descriptor", names)
            return
        self.load.count(self._settle(row, descriptor))

    def _settle(self, row: TargetRow, descriptor: Descriptor) -> RowOutcome:
        target = self.targets.get(row.target)
        if target is None:
            target = self.targets[row.target] = StoredTarget(name=row.target, lines=[])
            self.load.db.add(target)
        values = self.load.present(
            {
                "aim": ("aim", row.aim),
                "tolerance": ("tolerance", row.tolerance),
                "weight": ("weight", row.weight),
            }
        )
        line = next((one for one in target.lines if one.descriptor is descriptor), None)
        if line is not None:
            return RowOutcome.CHANGED if change(line, values) else RowOutcome.UNCHANGED
        place = max((one.place for one in target.lines), default=0) + 1
        target.lines.append(StoredTargetLine(descriptor=descriptor, place=place, **values))
        return RowOutcome.NEW

"""The lexicon: descriptors and their versions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from pydantic import BeforeValidator, model_validator
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from panel.intake.cells import (
    Day,
    FromOne,
    Name,
    OneOf,
    OptionalText,
    RowModel,
    Text,
    YesNo,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.load import Load, RowOutcome, change, fetch, refuse_twins
from panel.kinds import Stage
from panel.store.lexicon import Descriptor, DescriptorVersion

COLUMNS = Columns(
    required=("descriptor", "stage", "low_words", "high_words"),
    optional=(
        *("version", "meaning", "reference", "pools_with_previous"),
        *("introduced_on", "retired_on", "ought_to_be_absent"),
    ),
    numbers=frozenset({"version"}),
)


class LexiconRow(RowModel):
    """One version of one descriptor."""

    descriptor: Name
    stage: Annotated[Stage, BeforeValidator(OneOf(Stage))]
    low_words: Text
    high_words: Text
    version: FromOne = 1
    meaning: OptionalText = None
    reference: OptionalText = None
    pools_with_previous: YesNo = False
    introduced_on: Day = None
    retired_on: Day = None
    ought_to_be_absent: YesNo = False

    @model_validator(mode="after")
    def _in_order(self) -> LexiconRow:
        if self.introduced_on and self.retired_on and self.retired_on < self.introduced_on:
            raise fault(f"retired before {self.introduced_on}", column="retired_on")
        if self.version == 1 and self.pools_with_previous:
            raise fault("version 1 has none before it to pool with", column="pools_with_previous")
        return self


def take_lexicon(load: Load, rows: Sequence[LexiconRow]) -> None:
    """Add descriptors and versions and bring known ones up to date."""
    refuse_twins(
        load,
        rows,
        lambda row: (row.descriptor, row.version),
        "descriptor",
        lambda key: f"version {key[1]} of {key[0]}",
    )
    found = select(Descriptor).options(selectinload(Descriptor.versions))
    names = {row.descriptor for row in rows}
    known = {one.name: one for one in fetch(load.db, found, Descriptor.name, names)}
    intake = _Intake(load, known)
    for row in load.going(rows):
        load.count(intake.take(row))
    for row in rows:
        intake.check_earlier(row)


@dataclass
class _Intake:
    load: Load
    known: dict[str, Descriptor]

    def take(self, row: LexiconRow) -> RowOutcome:
        descriptor = self.known.get(row.descriptor)
        if descriptor is None:
            descriptor = self.known[row.descriptor] = Descriptor(name=row.descriptor, versions=[])
            self.load.db.add(descriptor)
        values = self.load.present(
            {
                "stage": ("stage", row.stage),
                "low_words": ("low_words", row.low_words),
                "high_words": ("high_words", row.high_words),
                "meaning": ("meaning", row.meaning),
                "reference_recipe": ("reference", row.reference),
                "pools_with_previous": ("pools_with_previous", row.pools_with_previous),
                "introduced_on": ("introduced_on", row.introduced_on),
                "retired_on": ("retired_on", row.retired_on),
                "ought_to_be_absent": ("ought_to_be_absent", row.ought_to_be_absent),
            }
        )
        version = next((one for one in descriptor.versions if one.version == row.version), None)
        if version is not None:
            return RowOutcome.CHANGED if change(version, values) else RowOutcome.UNCHANGED
        descriptor.versions.append(DescriptorVersion(version=row.version, **values))
        return RowOutcome.NEW

    def check_earlier(self, row: LexiconRow) -> None:
        versions = {one.version for one in self.known[row.descriptor].versions}
        if row.version > 1 and row.version - 1 not in versions:
            message = f"version {row.version - 1} of {row.descriptor} is missing"
            self.load.fault(row.at, "version", row.version, message)

"""Events: what happened to fillings, apart from regauges and draws."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import count, islice
from typing import Annotated, Any

from pydantic import BeforeValidator, model_validator

from panel.intake.cells import (
    FromOne,
    OneOf,
    OptionalLitres,
    OptionalName,
    OptionalStrength,
    OptionalText,
    PastDay,
    RowModel,
    fault,
)
from panel.intake.columns import Columns
from panel.intake.event_checks import check_event, check_fillings
from panel.intake.fillings import FillingsNamed, emptied_on, fetch_stock, find_filling
from panel.intake.load import Load, RowOutcome, all_names, change
from panel.kinds import EventKind
from panel.store.casks import Filling, FillingEvent

COLUMNS = Columns(
    either=("filling", "cask"),
    required=("kind", "happened_on"),
    optional=(*("entry", "parent", "litres", "abv", "site", "warehouse", "row", "tier", "note"),),
    numbers=frozenset({"entry", "litres", "abv"}),
)
PLACE = ("site", "warehouse", "row", "tier")
WITH_LITRES = (EventKind.RE_RACKED, EventKind.TOPPED)
Key = tuple[str, EventKind, date, str | None, int]


class EventRow(RowModel):
    """One event; re-racking and topping are one row a parent, on the filling that received."""

    filling: OptionalName = None
    cask: OptionalName = None
    kind: Annotated[EventKind, BeforeValidator(OneOf(EventKind))]
    happened_on: PastDay
    entry: FromOne = 1
    parent: OptionalName = None
    litres: OptionalLitres = None
    abv: OptionalStrength = None
    site: OptionalText = None
    warehouse: OptionalText = None
    row: OptionalText = None
    tier: OptionalText = None
    note: OptionalText = None

    @model_validator(mode="after")
    def _complete(self) -> EventRow:
        kind = self.kind.value
        if self.kind is EventKind.RE_RACKED and self.parent is None:
            raise fault(
                "a re-racking names the filling it came from, one row each", column="parent"
            )
        if self.kind not in WITH_LITRES and self.parent is not None:
            raise fault(f"only a re-racking or a topping has a parent, not {kind}", column="parent")
        if self.kind in WITH_LITRES and self.litres is None:
            raise fault(f"{kind} wants the litres that went in", column="litres")
        if self.kind is EventKind.MOVED and not any(getattr(self, name) for name in PLACE):
            raise fault(f"moved wants the new place: {', '.join(PLACE)}", column="warehouse")
        return self


@dataclass
class _Intake:
    load: Load
    stock: FillingsNamed
    known: dict[Key, FillingEvent] = field(default_factory=dict)
    first_rows: dict[Key, int] = field(default_factory=dict)
    gone: dict[tuple[str, EventKind, date, str | None], list[int]] = field(
        default_factory=lambda: defaultdict(list)
    )
    """The entries of events that were taken back."""

    def learn(self) -> None:
        for filling in self.stock.by_label.values():
            for event in sorted(filling.told_events, key=lambda one: one.entry):
                parent = event.parent.label if event.parent else None
                told = (filling.label, event.kind, event.happened_on, parent)
                if event.reversal is None:
                    self.known[*told, event.entry - len(self.gone[told])] = event
                else:
                    self.gone[told].append(event.entry)

    def _stored_entry(self, key: Key) -> int:
        """Return the entry of a new event: those taken back keep theirs, and files skip them."""
        taken = self.gone[key[:-1]]
        return next(islice((n for n in count(1) if n not in taken), key[-1] - 1, None))

    def take(self, row: EventRow) -> tuple[RowOutcome, FillingEvent] | None:
        filling = self._filling(row)
        parent = self._parent(row)
        if filling is None or (row.parent is not None and parent is None):
            return None
        key = (filling.label, row.kind, row.happened_on, row.parent, row.entry)
        first = self.first_rows.setdefault(key, row.at)
        if first != row.at:
            message = f"the same event stands in row {first}: give this one entry 2 if both were"
            self.load.fault(row.at, "entry", row.entry, message)
            return None
        return self._settle(row, key, filling, parent)

    def _without_parent(self, key: Key) -> FillingEvent | None:
        """Return the same topping as it was recorded when nobody said where the spirit came from.

        It takes the parent now, unless the file tells of it by itself as well.
        """
        label, kind, day, _, entry = key
        bare: Key = (label, kind, day, None, entry)
        if kind is not EventKind.TOPPED or bare in self.first_rows:
            return None
        return self.known.pop(bare, None)

    def _filling(self, row: EventRow) -> Filling | None:
        # A cask that is emptied and filled again on one day: the one that leaves is emptied.
        leaving = row.kind is EventKind.EMPTIED and row.filling is None
        if leaving and row.cask in self.stock.by_cask:
            earlier = [
                filling
                for filling in self.stock.by_cask[row.cask]
                if filling.filled_on < row.happened_on
                and emptied_on(filling) in {None, row.happened_on}
            ]
            if len(earlier) == 1:
                return earlier[0]
        return find_filling(self.load, row, self.stock, row.happened_on)

    def _parent(self, row: EventRow) -> Filling | None:
        if row.parent is None:
            return None
        if row.parent not in self.stock.by_label:
            names = all_names(self.load.db, Filling.label)
            self.load.unknown(row.at, "parent", row.parent, "filling", names)
        return self.stock.by_label.get(row.parent)

    def _settle(
        self, row: EventRow, key: Key, filling: Filling, parent: Filling | None
    ) -> tuple[RowOutcome, FillingEvent]:
        names = ("litres", "abv", *PLACE, "note")
        values: dict[str, Any] = self.load.present(
            {name: (name, getattr(row, name)) for name in names}
        )
        event = self.known.get(key) or self._without_parent(key)
        if event is not None:
            if event.parent is None and parent is not None:
                values["parent"] = parent
            changed = change(event, values)
            return (RowOutcome.CHANGED if changed else RowOutcome.UNCHANGED), event
        event = FillingEvent(
            filling=filling,
            kind=row.kind,
            happened_on=row.happened_on,
            entry=self._stored_entry(key),
            parent=parent,
            **values,
        )
        self.load.db.add(event)
        self.known[key] = event
        return RowOutcome.NEW, event


def take_events(load: Load, rows: Sequence[EventRow]) -> None:
    """Add events and bring known ones up to date."""
    labels = {row.filling for row in rows} | {row.parent for row in rows}
    intake = _Intake(load, fetch_stock(load.db, labels, (row.cask for row in rows)))
    intake.learn()
    rows_of: dict[str, list[tuple[int, FillingEvent]]] = defaultdict(list)
    # In order of days, so that a cask's filling is told after what emptied the one before.
    # Those of a day that name no parent come first: none of them takes one from another row.
    by_day = sorted(
        rows, key=lambda row: (row.happened_on, row.kind is EventKind.EMPTIED, bool(row.parent))
    )
    for row in load.going(by_day):
        settled = intake.take(row)
        if settled is not None:
            outcome, event = settled
            load.count(outcome)
            rows_of[event.filling.label].append((row.at, event))
    for of_filling in rows_of.values():
        for at, event in of_filling:
            check_event(load, at, event)
    check_fillings(load, intake.stock, rows_of)

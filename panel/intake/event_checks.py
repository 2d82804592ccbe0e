"""Whether events fit together: within a filling's stay, one emptying, no more than a cask holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import func, select

from panel.figures import in_digits
from panel.intake.fillings import (
    OVER_NOMINAL,
    FillingsNamed,
    check_fits,
    check_stay,
)
from panel.intake.load import Load
from panel.kinds import EventKind
from panel.store.casks import Filling, FillingEvent
from panel.store.draws import Draw

Rows = Sequence[tuple[int, FillingEvent]]


def check_event(load: Load, row: int, event: FillingEvent) -> None:
    """Note an event outside the stay of its filling or of its parent."""
    what = event.kind.value
    check_stay(load, row, "happened_on", event.filling, event.happened_on, what)
    if event.parent is not None:
        _check_parent(load, row, event, event.parent)
    if event.kind is EventKind.TOPPED and event.litres is not None:
        check_fits(load, row, "litres", event.filling, event.litres)


def _check_parent(load: Load, row: int, event: FillingEvent, parent: Filling) -> None:
    if parent is event.filling:
        message = f"a filling cannot be {event.kind.value} from itself"
        load.fault(row, "parent", parent.label, message)
        return
    check_stay(load, row, "parent", parent, event.happened_on, f"{event.kind.value} from")
    litres = event.litres or 0.0
    if litres > parent.cask.size_l * OVER_NOMINAL:
        message = (
            f"{parent.label} was in a cask of "
            f"{in_digits(parent.cask.size_l, 'g')} L: it never held as much"
        )
        load.fault(row, "litres", in_digits(litres, "g"), message)


def check_fillings(
    load: Load, stock: FillingsNamed, rows_of: Mapping[str, Rows], column: str = "happened_on"
) -> None:
    """Note what only all events of a filling together can show; *column* holds their days."""
    last_draws = _last_draws(load, rows_of)
    for label, rows in rows_of.items():
        filling = stock.by_label[label]
        _Emptied(load, filling, stock, column).check(rows, last_draws.get(filling.id))
        _check_received(load, filling, rows)


@dataclass(frozen=True)
class _Emptied:
    """Whether a filling was emptied once, and after all that happened to it."""

    load: Load
    filling: Filling
    stock: FillingsNamed
    column: str

    def check(self, rows: Rows, last_draw: date | None) -> None:
        emptied = [(row, event) for row, event in rows if event.kind is EventKind.EMPTIED]
        events = self.filling.events
        all_days = sorted(e.happened_on for e in events if e.kind is EventKind.EMPTIED)
        for row, event in emptied:
            if len(all_days) > 1:
                others = ", ".join(map(str, all_days))
                words = f"can be emptied once only; these days stand: {others}"
                self._fault(row, event, f"{self.filling.label} {words}")
                continue
            self._after(row, event, last_draw, {event for _, event in rows})
            self._next_filling(row, event)

    def _fault(self, row: int, event: FillingEvent, message: str) -> None:
        self.load.fault(row, self.column, event.happened_on, message)

    def _after(
        self, row: int, event: FillingEvent, last_draw: date | None, of_file: set[FillingEvent]
    ) -> None:
        # Later events of the same file are noted at their own rows.
        days = [
            *(e.happened_on for e in self.filling.events if e not in of_file),
            *(gauge.gauged_on for gauge in self.filling.regauges),
            *([last_draw] if last_draw else []),
        ]
        last = max(days, default=None)
        begun = event.happened_on >= self.filling.filled_on
        if last is not None and last > event.happened_on and begun:
            message = f"{self.filling.label} has records until {last}: it was not empty before"
            self._fault(row, event, message)

    def _next_filling(self, row: int, event: FillingEvent) -> None:
        for other in self.stock.by_cask[self.filling.cask.number]:
            if self.filling.filled_on < other.filled_on < event.happened_on:
                message = (
                    f"{other.label} was filled into the same cask on {other.filled_on}: "
                    f"{self.filling.label} was emptied by then"
                )
                self._fault(row, event, message)


def _check_received(load: Load, filling: Filling, rows: Rows) -> None:
    racked = [e for e in filling.events if e.kind is EventKind.RE_RACKED]
    total = sum(event.litres or 0.0 for event in racked)
    mine = [(row, event) for row, event in rows if event.kind is EventKind.RE_RACKED]
    if mine and total > filling.cask.size_l * OVER_NOMINAL:
        message = (
            f"{filling.label} received {in_digits(total, 'g')} L in all; its cask holds "
            f"{in_digits(filling.cask.size_l, 'g')} L"
        )
        load.fault(mine[-1][0], "litres", in_digits(mine[-1][1].litres, "g"), message)
    if mine and filling.make is not None:
        message = f"{filling.label} has a make ({filling.make.name}) already: it has one origin"
        load.fault(mine[0][0], "filling", filling.label, message)


def _last_draws(load: Load, rows_of: Mapping[str, Rows]) -> dict[int | None, date]:
    emptied = {
        event.filling.id
        for rows in rows_of.values()
        for _, event in rows
        if event.kind is EventKind.EMPTIED
    }
    if not emptied:
        return {}
    newest = (
        select(Draw.filling_id, func.max(Draw.drawn_on))
        .where(Draw.drawn_on.is_not(None))
        .group_by(Draw.filling_id)
    )
    return {filling: day for filling, day in load.db.execute(newest) if filling in emptied and day}

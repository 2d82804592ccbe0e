"""What contradicts a filling: its hold, its origin, its records, the others in its cask."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from panel.intake.fillings import check_size, emptied_on
from panel.intake.load import Load
from panel.intake.strengths import check_weak
from panel.kinds import EventKind
from panel.store.casks import Filling

if TYPE_CHECKING:
    from panel.intake.casks import CaskRow


def check_by_itself(load: Load, row: Any) -> None:
    """Note what else is at fault in a row that has faults; what could not be read is blank."""
    check_weak(load, row.at, "fill_abv", row.fill_abv)
    if None not in (row.cask, row.size_l, row.fill_bulk_l):
        check_size(load, row.at, "fill_bulk_l", row.fill_bulk_l, row.cask, row.size_l)


def check_held(load: Load, row: CaskRow, filling: Filling) -> None:
    """Note a hold until a day that has no reason."""
    if filling.hold_until is not None and filling.hold_reason is None:
        load.fault(row.at, "hold_reason", "", "a hold until a day must have a reason")


def check_origin(load: Load, row: CaskRow, filling: Filling) -> None:
    """Note a make of what was re-racked from other fillings."""
    racked = any(event.kind is EventKind.RE_RACKED for event in filling.events)
    if racked and filling.make is not None:
        message = f"{filling.label} was re-racked from other fillings: it has one origin"
        load.fault(row.at, "make", filling.make.name, message)


def check_later_records(load: Load, row: CaskRow, filling: Filling) -> None:
    """Note a filling after its own first record."""
    days = [event.happened_on for event in filling.events]
    days += [gauge.gauged_on for gauge in filling.regauges]
    first = min(days, default=None)
    if first is not None and first < filling.filled_on:
        message = f"the records of {filling.label} begin on {first} already, before it was filled"
        load.fault(row.at, "filled_on", filling.filled_on, message)


def check_neighbour(load: Load, row: CaskRow, filling: Filling, other: Filling) -> None:
    """Note two fillings that lay in one cask at one time."""
    if other.filled_on == filling.filled_on and other.label < filling.label:
        message = f"{other.label} was filled into the same cask on the same day"
        load.fault(row.at, "filled_on", filling.filled_on, message)
    emptied = emptied_on(other)
    if other.filled_on < filling.filled_on and emptied is not None and filling.filled_on < emptied:
        message = f"{other.label} was still in this cask: it was emptied on {emptied}"
        load.fault(row.at, "filled_on", filling.filled_on, message)
    own = emptied_on(filling)
    if own is not None and filling.filled_on < other.filled_on < own:
        message = f"{other.label} was filled on {other.filled_on}, before this one was emptied"
        load.fault(row.at, "filled_on", filling.filled_on, message)


def check_alone(
    load: Load, row: CaskRow, filling: Filling, in_cask: Sequence[Filling], of_file: frozenset[str]
) -> None:
    """Note a filling that began while another lay in the cask; each is noted at one row."""
    later = [other for other in in_cask if other.filled_on > filling.filled_on]
    if later and emptied_on(filling) is None:
        after = min(later, key=lambda other: other.filled_on)
        message = (
            f"{after.label} was filled into the same cask on {after.filled_on}: say when "
            f"{filling.label} was emptied, here or by an event loaded first"
        )
        load.fault(row.at, "emptied_on", "", message)
    for other in in_cask:
        before = other.filled_on < filling.filled_on and emptied_on(other) is None
        if before and other.label not in of_file:
            message = (
                f"{other.label}, filled on {other.filled_on}, lies in this cask by the records: "
                "load the event that emptied it first, or its row with emptied_on beside this one"
            )
            load.fault(row.at, "filled_on", filling.filled_on, message)

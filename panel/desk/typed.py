"""What was typed into a form, read: one reader for all forms, and all faults at once."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

from panel.errors import EntriesAtFault, OakpanelError
from panel.figures import PURE_ABV, MeansTwo, typed_number
from panel.store.ages import age_fault, day_fault

T = TypeVar("T")
DAY_HINT = "such as 2026-11-25"


class Entries:
    """What was typed, read field by field; all faults are gathered."""

    def __init__(self, values: Mapping[str, str]) -> None:
        self.values = values
        self.faults: dict[str, str] = {}

    def needed(self, name: str, wanted: str) -> str:
        """Return a field that has to be filled in."""
        text = self.values.get(name, "")
        if not text:
            self.faults[name] = wanted
        return text

    def read(self, name: str, reader: Callable[[str], T], wanted: str) -> T | None:
        """Return a field read by *reader*, None where nothing stands in it."""
        text = self.values.get(name, "")
        if not text:
            return None
        try:
            return reader(text)
        except OakpanelError as error:
            self.faults[name] = str(error)
        except ValueError:
            self.faults[name] = f"{text!r} is not {wanted}"
        return None

    def day(self, name: str) -> date | None:
        """Return a date, None where nothing stands there."""
        return self.read(name, _day, f"a date {DAY_HINT}")

    def near_day(self, name: str, today: date) -> date | None:
        """Return a date that casks are reckoned for, or a session is held on: none too far off."""
        day = self.day(name)
        if day is not None and (wrong := day_fault(day, today)):
            self.faults[name] = wrong
            return None
        return day

    def needed_day(self, name: str) -> date:
        """Return a date that has to be there; what stands for one that is not is never used."""
        self.needed(name, f"a date {DAY_HINT}")
        return self.day(name) or date.min

    def needed_number(self, name: str, unit: str) -> float:
        """Return a number above zero that has to be there, as `needed_day` does."""
        wanted = f"a number above zero, {unit}"
        self.needed(name, wanted)
        return self.read(name, above_zero, wanted) or 0.0

    def settle(self) -> None:
        """Raise EntriesAtFault where anything is wrong."""
        if self.faults:
            raise EntriesAtFault(self.faults)


def _day(text: str) -> date:
    from panel.intake.day_order import meant_day

    return date.fromisoformat(meant_day(text))


def from_one(text: str) -> int:
    """Read a whole number from 1 up; raises ValueError."""
    number = int(text)
    if number < 1:
        raise ValueError(text)
    return number


def from_zero(text: str) -> int:
    """Read a whole number from 0 up; raises ValueError."""
    number = int(text)
    if number < 0:
        raise ValueError(text)
    return number


def stated_age(text: str) -> int:
    """Read the whole years of an age statement; raises ValueError, or says how old spirit gets."""
    years = from_zero(text)
    if wrong := age_fault(years):
        raise OakpanelError(wrong)
    return years


def any_number(text: str) -> float:
    """Read a number, with a point or one comma; raises ValueError, or says what it could be."""
    try:
        return typed_number(text)
    except MeansTwo as error:
        raise OakpanelError(str(error)) from error


def above_zero(text: str) -> float:
    """Read a number above zero, with a point or one comma; raises ValueError."""
    number = any_number(text)
    if not number > 0:
        raise ValueError(text)
    return number


def strength(text: str) -> float:
    """Read a strength above 0 and of 100 % vol at most; raises ValueError."""
    number = above_zero(text)
    if number > PURE_ABV:
        raise ValueError(text)
    return number


def as_number(text: str | None) -> float | None:
    """Return what was typed as a number, with a point or one comma; None where it is none."""
    try:
        return typed_number(text or "")
    except ValueError:
        return None

"""A form for one deed of the house: what it does is asked of the same function as the command."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

from textual import work

from panel.desk.form import FormPage
from panel.errors import EntriesAtFault, OakpanelError

T = TypeVar("T")
DAY_HINT = "such as 2026-11-25"


class DeedForm(FormPage):
    """Subclasses say what is done with what was typed."""

    def look(self, values: dict[str, str]) -> object:
        """Raise EntriesAtFault for what can be seen before a PIN is asked for."""
        return None

    def action_keep(self) -> None:
        """Look at the entries, then ask for a PIN where the deed binds, then do it."""
        try:
            self.look(self.values())
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
        else:
            super().action_keep()

    def do(self, values: dict[str, str]) -> str:
        """Do it and return the news.

        Raises
        ------
        EntriesAtFault
            Entries are not right; nothing was done.
        OakpanelError
            It cannot be done.
        """
        raise NotImplementedError

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Do it in a job; a fault goes to its field."""
        try:
            news = self.do(values)
        except EntriesAtFault as error:
            self.hand_over(self.Refused(error.faults))
        except OakpanelError as error:
            self.hand_over(self.Refused({"": str(error)}))
        else:
            self.post_message(self.Kept(news))


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
        except ValueError:
            self.faults[name] = f"{text!r} is not {wanted}"
            return None

    def day(self, name: str) -> date | None:
        """Return a date, None where nothing stands there."""
        return self.read(name, date.fromisoformat, f"a date {DAY_HINT}")

    def needed_day(self, name: str) -> date:
        """Return a date that has to be there; what stands for one that is not is never used."""
        self.needed(name, f"a date {DAY_HINT}")
        return self.day(name) or date.min

    def settle(self) -> None:
        """Raise EntriesAtFault where anything is wrong."""
        if self.faults:
            raise EntriesAtFault(self.faults)

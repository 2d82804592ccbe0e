"""A form for one deed of the house: what it does is asked of the same function as the command."""

from __future__ import annotations

from textual import work

from panel.desk.form import FormPage
from panel.errors import EntriesAtFault, OakpanelError


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

"""A session with stages at the desk: where its notes lie, with the picture of it."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.traces_page import TracesPage


class StagesPage(TracesPage):
    """The finding of one session with stages; its agreement is a page further."""

    BINDINGS: ClassVar[list[BindingType]] = [
        key("i", "agreement", "Agreement", "stages.agreement", "Whom and what to believe of it"),
    ]

    def action_agreement(self) -> None:
        """Go on to the agreement of all its lines."""
        self.app.push_screen(page_of("agreement", self.session_name))

"""A traced session at the desk: does a note burst or linger, and the picture of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.desk.sets_page import SetsPage

if TYPE_CHECKING:
    from panel.desk.page import Drawn


class TracesPage(SetsPage):
    """The finding of one traced session."""

    def drawn_as(self) -> Drawn | None:
        """The course of the note in each sample."""
        name = self.session_name
        from panel.pictures.sessions import pictures_of
        from panel.questions.kinds import session_answer

        return f"Session {name}", lambda db: pictures_of(session_answer(db, name))

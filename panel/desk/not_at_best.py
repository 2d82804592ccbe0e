"""Who was not at their best in a session: close to health, so behind a lead's PIN."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.keys import key
from panel.desk.page import Page
from panel.desk.pin_slip import PrivateSlip
from panel.desk.slip import ReadSlip


class TellsNotAtBest(Page):
    """A page of one session that tells it to whoever has proved that they lead."""

    BINDINGS: ClassVar[list[BindingType]] = [
        replace(
            key("q", "private", "Private", "session.private", "Who was not at their best"),
            show=False,
        ),
    ]

    @dataclass
    class Proved(Message):
        """A lead has proved it: the codes."""

        codes: tuple[str, ...] | None

    @property
    def of_session(self) -> str:
        """The session that is asked about."""
        raise NotImplementedError

    def action_private(self) -> None:
        """Ask for the PIN, then show who was not at their best."""

        def answered(known: bool | None) -> None:
            if known:
                self.read_private()

        self.app.push_screen(PrivateSlip(self.of_session), answered)

    @work(thread=True, exclusive=True, group="private", exit_on_error=False)
    def read_private(self) -> None:
        """Read it."""
        from panel.questions.glasses import not_at_best

        with self.desk.store.read() as db:
            codes = not_at_best(db, self.of_session, self.desk.today())
        self.hand_over(self.Proved(codes))

    def on_tells_not_at_best_proved(self, message: Proved) -> None:
        """Show it."""
        from panel.words.glass_words import not_at_best_words

        lines = [not_at_best_words(message.codes)]
        self.app.push_screen(ReadSlip(f"{self.of_session}, private", lines))

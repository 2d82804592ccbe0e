"""What would change your mind, laid over the page of a ranking, a vatting or a release."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.columns import WORDS_WIDTH
from panel.desk.keys import Offer
from panel.desk.page import Page
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from analysis.next_glasses import Change
    from panel.store.engine import Session


def mind_offer(name: str) -> Offer:
    """Return the offer of a page that can tell it."""
    words = "What would change your mind"
    return Offer(name, words, "mind", "Which picks the next session may move, and which glass")


class TellsMind(Page):
    """A page with picks that the next session may move; `MIXED` where they make one vatting."""

    MIXED: ClassVar[bool] = False

    @dataclass
    class Minded(Message):
        """It has been reckoned."""

        changes: tuple[Change, ...]

    def minded(self, db: Session) -> tuple[Change, ...]:
        """Return what the next session could change about the picks of this page."""
        raise NotImplementedError

    @work(thread=True, exclusive=True, group="mind", exit_on_error=False)
    def action_mind(self) -> None:
        """Reckon it."""
        with self.reckoning(), self.desk.store.read() as db:
            changes = self.minded(db)
        self.hand_over(self.Minded(changes))

    def on_tells_mind_minded(self, message: Minded) -> None:
        """Show it."""
        from panel.words.change_words import changes_lines

        lines = changes_lines(message.changes, WORDS_WIDTH, mixed=self.MIXED)
        self.app.push_screen(ReadSlip("What would change your mind", lines))

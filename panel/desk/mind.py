"""What would change your mind, laid over the page of a ranking, a vatting or a release."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.message import Message

from panel.desk.columns import WORDS_WIDTH
from panel.desk.keys import Offer
from panel.desk.page import Page
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from analysis.next_glasses import Change, VatMind
    from panel.store.engine import Session


WORDS = "What would change your mind"


def mind_offer(name: str) -> Offer:
    """Return the offer of a page that can tell it."""
    return Offer(name, WORDS, "mind", "What the next session may turn, and by which glass")


def mind_slip(found: tuple[Change, ...] | VatMind | None) -> ReadSlip:
    """Return it as a slip to read: of picks what may cross, of a vatting on what it hangs."""
    from panel.words.change_words import changes_lines
    from panel.words.vat_mind_words import vat_mind_lines

    if isinstance(found, tuple):
        return ReadSlip(WORDS, changes_lines(found, WORDS_WIDTH))
    return ReadSlip(WORDS, vat_mind_lines(found, WORDS_WIDTH))


class TellsMind(Page):
    """A page with picks that the next session may move."""

    @dataclass
    class Minded(Message):
        """It has been reckoned."""

        found: tuple[Change, ...] | VatMind | None

    def minded(self, db: Session) -> tuple[Change, ...] | VatMind | None:
        """Return what the next session could change about the picks, or the vatting, of it."""
        raise NotImplementedError

    @work(thread=True, exclusive=True, group="mind", exit_on_error=False)
    def action_mind(self) -> None:
        """Reckon it."""
        with self.reckoning(), self.desk.store.read() as db:
            found = self.minded(db)
        self.hand_over(self.Minded(found))

    def on_tells_mind_minded(self, message: Minded) -> None:
        """Show it."""
        self.app.push_screen(mind_slip(message.found))

"""What was written of a record last is taken back, from its page and from the list of all."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.page import Page

if TYPE_CHECKING:
    from panel.records.taking_back import LastAct
    from panel.store.engine import Session


class TakesBack(Page):
    """A page of records: `u` reverses what was written of one of them last."""

    @dataclass
    class TakenBack(Message):
        """What was done is reversed."""

        words: str

    def can_now(self, action: str) -> bool:
        """Leave the key to the answer to a call, where that was done last."""
        if action == "take_back" and self.desk.answered_last:
            return False
        return super().can_now(action)

    @work(thread=True, exclusive=True, group="take back", exit_on_error=False)
    def reverse(self, name: str, seen: LastAct | None = None) -> None:
        """Write what reverses it, in a job; *seen* is what the page showed as the last."""
        with writing(self.desk.store) as db:
            words = self.taken_back(db, name, seen)
        self.hand_over(self.TakenBack(words))

    def taken_back(self, db: Session, name: str, seen: LastAct | None) -> str:
        """Write it of a cask, and return what was done."""
        from panel.records.taking_back import take_back_last

        desk = self.desk
        return take_back_last(db, name, now=desk.now(), by=desk.by, seen=seen).sentence()

    def on_takes_back_taken_back(self, message: TakenBack) -> None:
        """Say so and read anew."""
        self.desk.wrote(message.words)
        self.on_screen_resume()

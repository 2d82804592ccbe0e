"""What was written of a cask last is taken back, from its page and from the list of casks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual import work
from textual.message import Message

from panel.desk.acting import writing
from panel.desk.page import Page

if TYPE_CHECKING:
    from panel.records.taking_back import LastAct


class TakesBack(Page):
    """A page of casks: `u` reverses what was written of one of them last."""

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
    def reverse(self, cask: str, seen: LastAct | None = None) -> None:
        """Write what reverses it, in a job; *seen* is what the page showed as the last."""
        from panel.records.taking_back import take_back_last

        desk = self.desk
        with writing(desk.store) as db:
            done = take_back_last(db, cask, now=desk.now(), by=desk.by, seen=seen)
        self.hand_over(self.TakenBack(done.sentence()))

    def on_takes_back_taken_back(self, message: TakenBack) -> None:
        """Say so and read anew."""
        self.desk.wrote(message.words)
        self.on_screen_resume()

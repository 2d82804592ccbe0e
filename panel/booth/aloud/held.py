"""What is the same at every glass that somebody has in hand, by lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.booth.aloud.place import Offer, Place
from panel.booth.aloud.sitting import LEAVE_IT, Sitting
from panel.seat import said
from panel.seat.jobs import KeepNote

if TYPE_CHECKING:
    from panel.seat.values import Glass

NO_NOTE = "-"


class WithGlass(Place):
    """A place with one glass in hand."""

    def __init__(self, sitting: Sitting, glass: Glass) -> None:
        self._held = sitting.glass = glass
        super().__init__(sitting)

    @property
    def glass(self) -> Glass:
        """Return the newest facts about this glass."""
        number = self._held.serving_id
        return next((g for g in self.tray.glasses if g.serving_id == number), self._held)

    def all_kept(self) -> bool:
        """Say whether the glass may be put down; if not, that it stays in hand."""
        if self.sitting.check_all_kept():
            return True
        self.sitting.trouble("Not everything is kept yet: this glass stays in your hand.")
        return False

    def note_offer(self) -> Offer:
        """Return the letter that writes about this glass."""
        return Offer("t", "glass.note", "write something about this glass", self._note)

    def _note(self) -> None:
        now = f"Now: {self.glass.note}" if self.glass.note else "There is none now."
        how = f"{LEAVE_IT} {NO_NOTE} alone takes it away."
        text = self.sitting.ask(said.note_asked(self.glass.code), now, how)
        if text:
            self.sitting.keep(KeepNote(self._held.serving_id, "" if text == NO_NOTE else text))

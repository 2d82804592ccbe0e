"""Putting the filling of a cask on hold, or lifting the hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.message import Message

from panel.desk.entries import Field
from panel.desk.record_form import RecordForm
from panel.desk.typed import DAY_HINT

if TYPE_CHECKING:
    from panel.intake.report import LoadReport
    from panel.questions.cask_life import Hold
    from panel.store.filling_states import FillingState


class HoldForm(RecordForm):
    """Reason and last day; both empty lifts the hold."""

    PLACE = "casks"
    KIND = "casks"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("hold_reason", "Reason", "why nobody may use it; empty lifts the hold", wide=True),
        Field("hold_until", "Until", f"its last day, {DAY_HINT}; may be empty"),
    )

    @dataclass
    class Read(Message):
        """The filling's hold has been read."""

        hold: Hold

    def __init__(self, cask: str, state: FillingState) -> None:
        super().__init__({"hold_reason": state.hold_reason} if state.hold_reason else {})
        self.cask, self.filling = cask, state.label
        self.is_read = False

    def set_up(self) -> None:
        """Say which filling."""
        super().set_up()
        self.head(f"Hold {self.filling}", f"cask {self.cask}")

    @work(thread=True, exclusive=True, group="hold", exit_on_error=False)
    def read(self) -> None:
        """Read what the record says now."""
        from panel.questions.cask_life import hold_of

        with self.desk.store.read() as db:
            hold = hold_of(db, self.filling)
        self.hand_over(self.Read(hold))

    def on_hold_form_read(self, message: Read) -> None:
        """Fill in the last day of a hold."""
        self.is_read = True
        line = self.line_of("hold_until")
        if line is not None and not line.entry.value:
            line.entry.value = str(message.hold.until or "")
            self.first = self.values()

    def action_keep(self) -> None:
        """Check and write, once the record is read."""
        if self.is_read:
            super().action_keep()
        else:
            self.say("One moment: the record is still being read.")

    def take_in(self, values: dict[str, str]) -> LoadReport:
        """Check the hold and write it."""
        from panel.records.casks import hold_filling

        reason, until = (values.get(name, "") for name in ("hold_reason", "hold_until"))
        desk = self.desk
        return hold_filling(desk.store, self.filling, reason, until, now=desk.now(), by=desk.by)

    def news(self, values: dict[str, str]) -> str:
        """Return what was kept."""
        reason = values.get("hold_reason")
        return f"{self.filling} is on hold: {reason}" if reason else f"{self.filling}: hold lifted."

"""Marking a glass before the reveal, and opening a closed session again: both with a reason."""

from __future__ import annotations

from typing import ClassVar

from textual import work

from panel.desk.acting import leading
from panel.desk.entries import Field
from panel.desk.form import FormPage

MARKS = ("re-poured", "void", "swap suspected", "kept")
LATE_MARKS = ("void", "kept")
MEANING = {
    "re-poured": "a new glass of the same code; the first scores are kept apart",
    "void": "its scores are kept but not used",
    "swap suspected": "its scores are kept but not used until it is cleared up",
    "kept": "takes a mark back",
}


class MarkForm(FormPage):
    """What the lead makes of one glass."""

    PLACE = "sessions"
    TITLE_WORDS = "Mark a glass"

    def __init__(self, session: str, assessor: str, code: str, stage: str = "open") -> None:
        super().__init__()
        self.session_name, self.assessor, self.code = session, assessor, code
        self.revealed = stage == "revealed"

    def fields(self) -> tuple[Field, ...]:
        """Return mark and note; once the key is known the note is a reason for the log."""
        marks = LATE_MARKS if self.revealed else MARKS
        why = "why, now that the key is known; kept in the log" if self.revealed else "why"
        return (
            Field("status", "Mark", MEANING[marks[0]], choices=marks),
            Field("note", "Note", f"{why}; no names", wide=True),
        )

    def set_up(self) -> None:
        """Say which glass."""
        super().set_up()
        self.head(f"Glass {self.code} of {self.assessor}", self.session_name)
        self.lines[0].entry.focus()

    def on_choice_line_changed(self) -> None:
        """Say what the mark means."""
        self.lines[0].show_hint(MEANING[self.lines[0].entry.value])

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Mark the glass."""
        from panel.kinds import ServingStatus
        from panel.session.marks import mark_after_reveal, mark_glass

        if self.revealed and "note" not in values:
            self.hand_over(self.Refused({"note": "say why"}))
            return
        status = ServingStatus(values["status"].replace(" ", "_"))
        glass, now = (self.session_name, self.assessor, self.code, status), self.desk.now()
        with leading(self.desk.store, self.desk.by) as acting:
            db, by = acting.db, acting.by
            if self.revealed:
                mark_after_reveal(db, *glass, now=now, by=by, reason=values["note"])
            else:
                mark_glass(db, *glass, now=now, by=by, note=values.get("note"))
        self.post_message(self.Kept(f"{self.code} of {self.assessor}: {values['status']}."))


class ReopenForm(FormPage):
    """Why a closed session is opened again."""

    PLACE = "sessions"
    TITLE_WORDS = "Open again"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("reason", "Reason", "kept in the log; no names, no scores", wide=True),
    )

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session_name = session

    def set_up(self) -> None:
        """Say which session."""
        super().set_up()
        self.head(f"Open {self.session_name} again")

    @work(thread=True, exclusive=True, group="keep", exit_on_error=False)
    def keep(self, values: dict[str, str]) -> None:
        """Open it."""
        from panel.session.stages import reopen_session

        if "reason" not in values:
            self.hand_over(self.Refused({"reason": "say why"}))
            return
        with leading(self.desk.store, self.desk.by) as acting:
            reopen_session(
                acting.db,
                self.session_name,
                now=self.desk.now(),
                by=acting.by,
                reason=values["reason"],
            )
        self.post_message(self.Kept("Open again: the booths may come back."))

"""Marking a glass before the reveal, and opening a closed session again: both with a reason."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType

from panel.desk.acting import Acting, leading
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.desk.typed import Entries
from panel.kinds import GlassState, ServingStatus, SessionStatus, SwapOutcome
from panel.records.acts import Act

CODE_COLUMNS: tuple[Column[str], ...] = (Column("Code", 8, lambda code: code),)
BACK, NOT_SAFE, SAFE_AGAIN = "as before", "not safe", "safe again"
MARKS = ("re-poured", "void", "swap suspected", "kept", NOT_SAFE, SAFE_AGAIN, BACK)
LATE_MARKS = ("void", "kept")
CLEARED = {"stood as recorded": SwapOutcome.STOOD, "exchanged": SwapOutcome.EXCHANGED}
SUSPECTED = (*CLEARED, "re-poured", "void", NOT_SAFE, BACK)
"""What can be made of a glass that may have changed places with another."""
MEANING = {
    "re-poured": "a new glass of the same code; the first scores are kept apart",
    "void": "its scores are kept but not used",
    "swap suspected": "its scores are kept but not used until it is cleared up",
    "kept": "it counts, whatever it was marked before",
    NOT_SAFE: "what is in it is stopped for everybody at once, under all its codes",
    SAFE_AGAIN: "a draw that was stopped comes back on every tray; say why",
    BACK: "your last mark is taken back, within ten minutes",
    "stood as recorded": "its scores are used again",
    "exchanged": "read under the other glass's code, and that one under this; nothing is changed",
}


class MarkForm(DeedForm):
    """What the lead makes of one glass: a mark, or what became of a suspected swap."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Mark", "Mark the glass")]
    PLACE = "sessions"
    ACT = Act.MARK
    TITLE_WORDS = "Mark a glass"

    def __init__(
        self,
        session: str,
        assessor: str,
        code: str,
        stage: str,
        state: GlassState,
        others: tuple[str, ...] = (),
    ) -> None:
        super().__init__()
        self.session_name, self.assessor, self.code = session, assessor, code
        self.others = others
        self.revealed = stage == SessionStatus.REVEALED
        self.suspected = state is GlassState.SWAP_SUSPECTED and not self.revealed

    def fields(self) -> tuple[Field, ...]:
        """Return mark and note; once the key is known the note is a reason for the log."""
        marks = LATE_MARKS if self.revealed else SUSPECTED if self.suspected else MARKS
        why = "why, now that the key is known; kept in the log" if self.revealed else "why"
        other = Field("other", "Other glass", "of the same tray, if exchanged", picks=True)
        return (
            Field("status", "Mark", MEANING[marks[0]], choices=marks),
            *([other] if self.suspected else []),
            Field("note", "Note", f"{why}; no names", wide=True),
        )

    def set_up(self) -> None:
        """Say which glass."""
        super().set_up()
        self.head(f"Glass {self.code} of {self.assessor}", self.session_name)
        self.lines[0].entry.focus()

    def choices_for(self, name: str) -> PickPage | None:
        """Return the other glasses of the tray."""
        return PickPage(
            f"With which glass of {self.assessor}?",
            self.others,
            CODE_COLUMNS,
            name_of=str,
            place=self.PLACE,
            many=False,
        )

    def on_choice_line_changed(self) -> None:
        """Say what the mark means."""
        self.lines[0].show_hint(MEANING[self.lines[0].entry.value])

    def look(self, values: dict[str, str]) -> None:
        """See that there is a reason, and another glass, where one is asked for."""
        typed = Entries(values)
        if self.revealed or values["status"] == SAFE_AGAIN:
            typed.needed("note", "say why")
        if CLEARED.get(values["status"]) is SwapOutcome.EXCHANGED:
            typed.needed("other", "name the other glass of the two")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Mark the glass."""
        with leading(self.desk.store, self.desk.by) as acting:
            if values["status"] == NOT_SAFE:
                return self._stop(acting, values.get("note"))
            if values["status"] == SAFE_AGAIN:
                return self._lift(acting, values["note"])
            self._write(acting, values)
        return f"{self.code} of {self.assessor}: {values['status']}."

    def _stop(self, acting: Acting, note: str | None) -> str:
        from panel.session.stopping import stop_draw

        glass = (self.session_name, self.assessor, self.code)
        now, by = self.desk.now(), acting.by
        return stop_draw(acting.db, *glass, now=now, by=by, note=note).sentence()

    def _lift(self, acting: Acting, reason: str) -> str:
        from panel.session.stopping import lift_stop

        glass = (self.session_name, self.assessor, self.code)
        now, by = self.desk.now(), acting.by
        return lift_stop(acting.db, *glass, now=now, by=by, reason=reason).lifted_sentence()

    def _write(self, acting: Acting, values: dict[str, str]) -> None:
        from panel.session.clearing import clear_swap
        from panel.session.late_marks import mark_after_reveal
        from panel.session.marks import mark_glass
        from panel.session.marks_back import take_mark_back

        db, by, now = acting.db, acting.by, self.desk.now()
        if values["status"] == BACK:
            take_mark_back(db, self.session_name, self.assessor, self.code, now=now, by=by)
            return
        glass, note = (self.session_name, self.assessor, self.code), values.get("note")
        outcome = CLEARED.get(values["status"])
        if outcome is not None:
            other = values.get("other")
            clear_swap(db, *glass, outcome, now=now, by=by, other=other, note=note)
            return
        status = ServingStatus(values["status"].replace(" ", "_"))
        if self.revealed:
            mark_after_reveal(db, *glass, status, now=now, by=by, reason=note or "")
        else:
            mark_glass(db, *glass, status, now=now, by=by, note=note)


class ReopenForm(DeedForm):
    """Why a closed session is opened again."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Open", "Open the booths again")]
    PLACE = "sessions"
    ACT = Act.OPEN
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

    def look(self, values: dict[str, str]) -> None:
        """See that there is a reason."""
        typed = Entries(values)
        typed.needed("reason", "say why")
        typed.settle()

    def do(self, values: dict[str, str]) -> str:
        """Open it."""
        from panel.session.reopened import STAYS_KNOWN
        from panel.session.stages import reopen_session

        name, reason, now = self.session_name, values["reason"], self.desk.now()
        with leading(self.desk.store, self.desk.by) as acting:
            reopen_session(acting.db, name, now=now, by=acting.by, reason=reason)
        return f"Open again: the booths may come back. {STAYS_KNOWN}"

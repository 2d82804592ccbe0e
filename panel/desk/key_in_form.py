"""Ballots from paper, keyed twice: the two files, compared and kept where they are alike."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual.binding import Binding, BindingType
from textual.message import Message

from panel.desk.acting import leading
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.slip import SLIP_CELLS, Confirm
from panel.errors import EntriesAtFault, OakpanelError, SessionError
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.session.held_seats import HeldSeat


class KeyInForm(DeedForm):
    """Two files of one session's ballots, each keyed by another person."""

    BINDINGS: ClassVar[list[BindingType]] = [
        finishing("Compare", "Compare, and keep if alike"),
        Binding("f7", "blank", "File to fill", id="key_in.blank", tooltip="A file to key into"),
    ]
    PLACE = "sessions"
    ACT = Act.KEY_IN
    TITLE_WORDS = "Ballots keyed in"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("first", "First file", "as one person keyed it", wide=True),
        Field("second", "Second file", "as another did; what differs is told", wide=True),
    )

    @dataclass
    class Held(Message):
        """Booths hold seats of whom something is keyed."""

        seats: tuple[HeldSeat, ...]
        values: dict[str, str]

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session_name = session
        self.take_seats: tuple[str, ...] = ()

    def set_up(self) -> None:
        """Say of which session, and where a file comes from."""
        super().set_up()
        self.head(f"Ballots of {self.session_name}")
        self.say("f7 writes a file to be keyed into, one for each of the two.")

    def action_blank(self) -> None:
        """Write a file with every line that is to be keyed, into the folder of this desk."""
        from panel.desk.file_names import free_path, plain_name
        from panel.session.keyed import template
        from panel.session.paper import write_private

        path = free_path(Path.cwd() / f"{plain_name(self.session_name, 'ballots')}-ballots.csv")
        try:
            with self.desk.store.read() as db:
                write_private(path, template(db, self.session_name))
        except OakpanelError as error:
            self.say(str(error), trouble=True)
        else:
            self.say(f"{path.name} is in {path.parent}; its last column says what to write.")

    def look(self, values: dict[str, str]) -> None:
        """See that both are named."""
        empty = {name: "name the file" for name in ("first", "second") if name not in values}
        if empty:
            raise EntriesAtFault(empty)

    def do(self, values: dict[str, str]) -> str:
        """Compare them, and keep the ballots; a booth is ended only where that was agreed to."""
        from panel.session.held_seats import SeatsHeld
        from panel.session.keyed import ballot_files, keep_ballots

        take, self.take_seats = self.take_seats, ()
        first, second = (Path(values[name]).expanduser() for name in ("first", "second"))
        one, other = ballot_files(first, second)
        desk = self.desk
        try:
            with leading(desk.store, desk.by) as acting:
                kept = keep_ballots(
                    *(acting.db, self.session_name, one, other),
                    now=desk.now(),
                    by=acting.by,
                    take_seats=take,
                )
        except SeatsHeld as error:
            self.hand_over(self.Held(error.held, values))
            # The question is asked by a slip; behind it stands why nothing was kept.
            raise SessionError(" ".join(seat.words() for seat in error.held)) from error
        return kept.words()

    def on_key_in_form_held(self, message: Held) -> None:
        """Ask whether those booths may end."""
        from panel.session.held_seats import HOW_IT_ENDS
        from panel.words.answers import paragraph

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.take_seats = tuple(seat.assessor for seat in message.seats)
                self.keep(message.values)

        told = [*(seat.words() for seat in message.seats), "", HOW_IT_ENDS]
        lines = [line for each in told for line in paragraph(each, SLIP_CELLS)]
        self.app.push_screen(Confirm("End their booths, and keep the ballots?", lines), answered)

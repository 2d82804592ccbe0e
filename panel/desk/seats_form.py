"""Who does not come and who comes late, once a session is sealed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import leading
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.errors import EntriesAtFault
from panel.kinds import Role
from panel.records.acts import Act

CODE_COLUMNS: tuple[Column[str], ...] = (Column("Code", 12, lambda code: code, stretch=True),)


class SeatsForm(DeedForm):
    """Codes and key stay; a late assessor takes the tray of the absent one ticked in turn."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Change", "Change who sits there")]
    PLACE = "sessions"
    ACT = Act.SEAL
    TITLE_WORDS = "Who sits there"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("absent", "Does not come", "void if poured, unless a late one takes it", picks=True),
        Field("late", "Comes late", "takes a free tray, else gets one laid", picks=True),
    )

    @dataclass
    class Read(Message):
        """Who sits there, and who else may."""

        seated: Sequence[str]
        others: Sequence[str]

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session_name = session
        self.people: SeatsForm.Read | None = None

    def set_up(self) -> None:
        """Say of which session."""
        super().set_up()
        self.head(f"Who sits in {self.session_name}")

    @work(thread=True, exclusive=True, group="seated", exit_on_error=False)
    def read(self) -> None:
        """Read who can be chosen."""
        from panel.session.progress import session_progress
        from panel.store.who import people_with

        with self.desk.store.read() as db:
            seated = [seat.assessor for seat in session_progress(db, self.session_name).seats]
            here = [who.code for who in people_with(db, Role.ASSESSOR, self.desk.today())]
        self.hand_over(self.Read(seated, [code for code in here if code not in seated]))

    def on_seats_form_read(self, message: Read) -> None:
        """Keep them for the lists."""
        self.people = message

    def choices_for(self, name: str) -> PickPage | None:
        """Return the people of one field."""
        line = self.line_of(name)
        if self.people is None or line is None:
            return None
        return PickPage(
            line.field.label,
            self.people.seated if name == "absent" else self.people.others,
            CODE_COLUMNS,
            name_of=str,
            place=self.PLACE,
            many=True,
            ticked=line.entry.value.splitlines(),
        )

    def look(self, values: dict[str, str]) -> None:
        """See that somebody is named."""
        if not values.keys() & {"absent", "late"}:
            raise EntriesAtFault({"absent": "choose who does not come, or who comes late"})

    def do(self, values: dict[str, str]) -> str:
        """Change the seats and seal the trays anew."""
        from panel.session.seats import change_seats

        absent, late = (values.get(name, "").splitlines() for name in ("absent", "late"))
        now = self.desk.now()
        with leading(self.desk.store, self.desk.by) as acting:
            changed = change_seats(
                acting.db, self.session_name, absent=absent, late=late, now=now, by=acting.by
            )
        return " ".join([*changed.moved(), "Sealed anew.", *changed.notes])

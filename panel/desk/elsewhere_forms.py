"""Seats nosed at another site, at the desk: sent, opened there, returned, joined, given up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.acting import leading, writing
from panel.desk.columns import Column
from panel.desk.database_forms import path_in
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.file_names import plain_name
from panel.desk.first_pin import FirstPinForm
from panel.desk.form import finishing
from panel.desk.pick import PickPage
from panel.desk.slip import SLIP_CELLS, Confirm
from panel.desk.text_page import TextPage
from panel.desk.typed import Entries
from panel.errors import EntriesAtFault, UnknownRecord
from panel.figures import typed_number
from panel.records.acts import Act

if TYPE_CHECKING:
    from panel.desk.beginning import Beginning
    from panel.store.engine import Store

MILLILITRES = "a number of mL"
CODE_COLUMNS: tuple[Column[str], ...] = (Column("Code", 12, lambda code: code, stretch=True),)


def from_none(text: str) -> float:
    """Read a number that is not below zero; raises ValueError."""
    number = typed_number(text)
    if number < 0:
        raise ValueError(text)
    return number


class OfSession(DeedForm):
    """A form about one session."""

    PLACE = "sessions"

    def __init__(self, session: str) -> None:
        super().__init__()
        self.session_name = session

    def set_up(self) -> None:
        """Say of which session."""
        super().set_up()
        self.head(f"{self.TITLE_WORDS}: {self.session_name}")


class PackForm(OfSession):
    """To which site, whose seats, with which water, into which file."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Pack", "Write the file")]
    ACT = Act.PACK
    TITLE_WORDS = "To another site"

    @dataclass
    class Read(Message):
        """Who sits in it."""

        seated: Sequence[str]

    def __init__(self, session: str) -> None:
        super().__init__(session)
        self.seated: Sequence[str] = ()

    def fields(self) -> tuple[Field, ...]:
        """Return what is asked, a new file proposed."""
        file = f"{plain_name(self.session_name, 'session')}.pack"
        return (
            Field("site", "Site", "where they sit"),
            Field("people", "Who sits there", "empty: everybody", picks=True),
            Field("water", "Water", "which, so that they take the same there"),
            Field("file", "File", "new; it goes another way than the sheet", value=file, wide=True),
        )

    @work(thread=True, exclusive=True, group="seated", exit_on_error=False)
    def read(self) -> None:
        """Read who can be chosen."""
        from panel.session.progress import session_progress

        with self.desk.store.read() as db:
            seated = [seat.assessor for seat in session_progress(db, self.session_name).seats]
        self.hand_over(self.Read(seated))

    def on_pack_form_read(self, message: Read) -> None:
        """Keep them for the list."""
        self.seated = message.seated

    def choices_for(self, name: str) -> PickPage | None:
        """Return who sits in the session."""
        line = self.line_of(name)
        if name != "people" or line is None:
            return None
        return PickPage(
            line.field.label,
            self.seated,
            CODE_COLUMNS,
            name_of=str,
            place=self.PLACE,
            many=True,
            ticked=line.entry.value.splitlines(),
        )

    def look(self, values: dict[str, str]) -> None:
        """See that site, water and file are named."""
        typed = Entries(values)
        for name, wanted in (("site", "name the site"), ("water", "say which water")):
            typed.needed(name, wanted)
        typed.settle()
        path_in(values, "file", "name a new file")

    def do(self, values: dict[str, str]) -> str:
        """Write the pack."""
        from panel.session.elsewhere.packing import pack_session
        from panel.session.paper import write_private
        from panel.words.elsewhere_words import packed_lines

        people = values.get("people", "").splitlines()
        with leading(self.desk.store, self.desk.by) as acting:
            made = pack_session(
                *(acting.db, self.session_name, people),
                site=values["site"],
                water=values["water"],
                now=self.desk.now(),
                by=acting.by,
            )
            write_private(path_in(values, "file", "name a new file"), made.contents)
        return " ".join(packed_lines(made))


class ReturnForm(OfSession):
    """How much was destroyed here, and into which file."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Return", "Write the file for home")]
    ACT = Act.RETURN
    TITLE_WORDS = "Back to home"

    def fields(self) -> tuple[Field, ...]:
        """Return what is asked, a new file proposed."""
        file = f"{plain_name(self.session_name, 'session')}.return"
        return (
            Field("destroyed", "Destroyed mL", "leftovers and glasses poured away, all"),
            Field("file", "File", "new; it holds people's scores", value=file, wide=True),
        )

    def look(self, values: dict[str, str]) -> None:
        """See that there is a number and a file."""
        typed = Entries(values)
        typed.read("destroyed", from_none, MILLILITRES)
        typed.settle()
        path_in(values, "file", "name a new file")

    def do(self, values: dict[str, str]) -> str:
        """Write the return."""
        from panel.session.elsewhere.returning import return_session
        from panel.session.paper import write_private

        destroyed = Entries(values).read("destroyed", from_none, MILLILITRES)
        with leading(self.desk.store, self.desk.by) as acting:
            done = return_session(
                *(acting.db, self.session_name),
                destroyed_ml=destroyed,
                now=self.desk.now(),
                by=acting.by,
            )
            write_private(path_in(values, "file", "name a new file"), done.contents)
        return f"{done.finished} of {done.glasses} glasses are on their way home in that file."


class RecallForm(OfSession):
    """Which site, and why it is given up."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Call back", "Give it up")]
    ACT = Act.PACK
    TITLE_WORDS = "Call back"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("site", "Site", "what comes back from there is refused from now on"),
        Field("reason", "Why", "kept", wide=True),
    )

    def look(self, values: dict[str, str]) -> None:
        """See that both are named."""
        typed = Entries(values)
        typed.needed("site", "name the site")
        typed.needed("reason", "say why")
        typed.settle()

    def action_keep(self) -> None:
        """Ask whether it is given up for good, then do as every form."""
        from panel.words.answers import paragraph
        from panel.words.elsewhere_words import NO_WAY_BACK

        values = self.values()
        try:
            self.look(values)
        except EntriesAtFault as error:
            self.post_message(self.Refused(error.faults))
            return

        def answered(agreed: bool | None) -> None:
            if agreed:
                super(RecallForm, self).action_keep()

        title = f"Call back what of {self.session_name} is at {values['site']}?"
        self.app.push_screen(Confirm(title, paragraph(NO_WAY_BACK, SLIP_CELLS)), answered)

    def do(self, values: dict[str, str]) -> str:
        """Give it up."""
        from panel.session.elsewhere.recalled import recall_pack

        site, reason = values["site"], values["reason"]
        with leading(self.desk.store, self.desk.by) as acting:
            try:
                recall_pack(
                    *(acting.db, self.session_name, site),
                    reason=reason,
                    now=self.desk.now(),
                    by=acting.by,
                )
            except UnknownRecord as error:
                raise EntriesAtFault({"site": str(error)}) from None
        return f"{site} is called back: its seats may be scored here."


class JoinForm(DeedForm):
    """The file that came back."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Join", "All of it, or nothing")]
    PLACE = "sessions"
    ACT = Act.JOIN
    TITLE_WORDS = "Join what came back"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("file", "File", "the return from the other site", wide=True),
        Field("without", "Without", "codes of who sat down here as well; else empty", wide=True),
    )

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def look(self, values: dict[str, str]) -> None:
        """See that a file is named."""
        path_in(values, "file", "name the file")

    def do(self, values: dict[str, str]) -> str:
        """Join it."""
        from panel.session.elsewhere.joining import join_return
        from panel.session.elsewhere.sealed_file import read_return
        from panel.words.elsewhere_words import joined_lines

        unread = read_return(path_in(values, "file", "name the file"))
        with leading(self.desk.store, self.desk.by) as acting:
            done = join_return(
                *(acting.db, unread),
                without=values.get("without", "").replace(",", " ").split(),
                now=self.desk.now(),
                by=acting.by,
            )
        self.found = list(joined_lines(done))
        return f"{done.session} from {done.site} is joined."

    def leave(self) -> None:
        """Show what came, and what the lead has to know of it."""
        self.app.switch_screen(TextPage(self.PLACE, "Joined", self.found))


PACK_FIELDS = (
    Field("file", "Pack", "the file that came from home", wide=True),
    Field("received", "Received mL", "what arrived, all bottles"),
    Field("hash", "Its hash", "12 digits or more, from the sheet; may be empty", wide=True),
)


class OpenPackForm(DeedForm):
    """A pack more, in a database that was made for the packs of one house."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Open", "Open the pack here")]
    PLACE = "sessions"
    ACT = Act.UNPACK
    TITLE_WORDS = "Open a pack"
    FIELDS: ClassVar[tuple[Field, ...]] = PACK_FIELDS

    def look(self, values: dict[str, str]) -> None:
        """See that there is a file and a number."""
        typed = Entries(values)
        typed.needed("received", "say how many mL arrived")
        typed.read("received", from_none, MILLILITRES)
        typed.settle()
        path_in(values, "file", "name the file")

    def do(self, values: dict[str, str]) -> str:
        """Open it here."""
        from panel.session.elsewhere.opening import open_pack
        from panel.session.elsewhere.sealed_file import check_digits, read_pack
        from panel.words.elsewhere_words import opened_lines

        read = read_pack(path_in(values, "file", "name the file"))
        check_digits(read, values.get("hash"))
        received = Entries(values).read("received", from_none, MILLILITRES) or 0.0
        with leading(self.desk.store, self.desk.by) as acting:
            done = open_pack(
                acting.db, read, received_ml=received, now=self.desk.now(), by=acting.by
            )
        return " ".join(opened_lines(done))


class FirstPackForm(FirstPinForm):
    """A pack at a site that has no database yet: who leads there; then a PIN, typed twice."""

    BINDINGS: ClassVar[list[BindingType]] = [finishing("Open", "Open the pack here")]
    TITLE_WORDS = "A pack that came here"
    IN_A_HOUSE = False
    FIELDS: ClassVar[tuple[Field, ...]] = (
        *PACK_FIELDS,
        Field("lead", "Who leads here", "a short code, no name: sheets show it"),
    )

    def __init__(self, begun: Beginning) -> None:
        super().__init__()
        self.begun = begun

    def look(self, values: dict[str, str]) -> None:
        """See that all is there."""
        typed = Entries(values)
        typed.needed("received", "say how many mL arrived")
        typed.read("received", from_none, MILLILITRES)
        typed.needed("lead", "give a code, such as LD")
        typed.settle()
        path_in(values, "file", "name the file")

    def do(self, values: dict[str, str]) -> str:
        """Make the database and open the pack in it."""
        from panel.records.people import set_pin
        from panel.session.elsewhere.opening import check_new, open_pack
        from panel.session.elsewhere.sealed_file import check_digits, read_pack
        from panel.words.elsewhere_words import opened_lines

        read = read_pack(path_in(values, "file", "name the file"))
        check_digits(read, values.get("hash"))
        lead, received = (
            values["lead"],
            Entries(values).read("received", from_none, MILLILITRES) or 0.0,
        )
        desk = self.desk
        check_new(read.body, received, lead, desk.now())
        store = self.begun.make()
        with writing(store) as db:
            done = open_pack(*(db, read), received_ml=received, now=desk.now(), by=None, lead=lead)
        if self.pin is not None:
            with writing(store) as db:
                set_pin(db, lead, self.pin, now=desk.now(), by=lead)
        desk.founded(store, lead)
        return " ".join(opened_lines(done))

    def leave(self) -> None:
        """Go in; whoever just typed the PIN is not asked for it again."""
        self.app.call_later(self.desk.move_in, "sessions")


def away_page(store: Store, session: str) -> TextPage:
    """Return what of a session is at other sites."""
    from panel.session.elsewhere.recalled import session_away
    from panel.words.elsewhere_words import away_lines

    with store.read() as db:
        lines = list(away_lines(session_away(db, session)))
    return TextPage("sessions", f"{session} at other sites", lines, file="other-sites.txt")


def carried_page(store: Store) -> TextPage:
    """Return the register of what went to other sites."""
    from panel.session.elsewhere.recalled import carried_register
    from panel.words.elsewhere_words import carried_lines

    with store.read() as db:
        lines = list(carried_lines(carried_register(db)))
    return TextPage("house", "Carried to other sites", lines, file="carried.txt")

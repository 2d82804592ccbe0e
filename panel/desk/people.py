"""The people of the house: codes and roles, never names or PINs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage

if TYPE_CHECKING:
    from panel.questions.people import PersonLine

EMPTY = """Nobody yet: n writes down the first, who leads; then their PIN.
From a file: 7 House, Bring records in, assessors."""

COLUMNS: tuple[Column[PersonLine], ...] = (
    Column("Code", 10, lambda p: p.code),
    Column("Roles", 24, lambda p: ", ".join(p.roles)),
    Column("PIN", 6, lambda p: "set" if p.has_pin else "none"),
    Column("Joined", 10, lambda p: str(p.joined_on or ""), lambda p: p.joined_on),
    Column("Left", 10, lambda p: str(p.left_on or ""), lambda p: p.left_on),
    Column("Sessions", 8, lambda p: str(p.n_sessions), lambda p: p.n_sessions, right=True),
)


class PeopleTable(BigTable["PersonLine"]):
    """People, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class PeoplePage(ListPage):
    """Who there is, and whether they can sign in."""

    PLACE = "people"
    TITLE_WORDS = "People"
    FIND_HINT = "words of code, role"
    OFFERS = (
        Offer("people.lock", "Lock", "lock", "The next act that binds asks for a PIN"),
        Offer("people.training", "In training", "training", "Who, and what is poured for it"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "people.new", "Somebody new"),
    ]

    @dataclass
    class Read(Message):
        """The people have been read."""

        people: list[PersonLine]

    def table(self) -> BigTable[PersonLine]:
        """Make the table of people."""
        return PeopleTable(COLUMNS, name_of=lambda p: p.code, empty=EMPTY)

    @work(thread=True, exclusive=True, group="people", exit_on_error=False)
    def read(self) -> None:
        """Read who there is."""
        from panel.questions.people import people_lines

        with self.desk.store.read() as db:
            people = people_lines(db, now=self.desk.now())
        self.hand_over(self.Read(people))

    def on_people_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.people)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go to one person."""
        self.app.push_screen(page_of("person", event.row.code))

    def action_new(self) -> None:
        """Open the form for somebody new."""
        self.app.push_screen(page_of("new person"))

    def action_training(self) -> None:
        """Show who is in training."""
        self.app.push_screen(page_of("trainings"))

    @work(thread=True, exclusive=True, group="lock", exit_on_error=False)
    def action_lock(self) -> None:
        """End the hour in which this account need not type a PIN again, here and at the command."""
        from panel.records.proving import lock
        from panel.words.people_words import passes_words

        ended = lock(self.desk.store, now=self.desk.now())
        self.desk.signed_in = False
        self.app.call_from_thread(self.say, passes_words(ended))

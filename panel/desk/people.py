"""The people of the house: codes and roles, never names or PINs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.list_page import ListPage
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from panel.questions.people import PersonLine

EMPTY = """Nobody yet. Load assessors from a file:
    oakpanel load assessors FILE
then give the lead a role and a PIN:
    oakpanel people role CODE +lead
    oakpanel people pin CODE"""

COLUMNS: tuple[Column[PersonLine], ...] = (
    Column("Code", 10, lambda p: p.code),
    Column("Roles", 24, lambda p: ", ".join(p.roles)),
    Column("Pin", 6, lambda p: "set" if p.has_pin else "none"),
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
        """Say how this person's PIN and roles are changed."""
        self.app.push_screen(ReadSlip(event.row.code, person_words(event.row)))


def person_words(person: PersonLine) -> list[str]:
    """Return what is known of a person and the commands that change it."""
    past = person.recovered_on
    return [
        f"Roles: {', '.join(person.roles) or 'none'}",
        f"PIN: {'set' if person.has_pin else 'not set, so that no booth opens for this code'}",
        *([f"It was given past the leads on {past}, by who owns the database."] if past else []),
        f"Sessions: {person.n_sessions}",
        "",
        "A PIN is typed where nobody looks on, so it is set on the command line:",
        f"    oakpanel people pin {person.code}",
        "Roles:",
        f"    oakpanel people role {person.code} +lead",
    ]

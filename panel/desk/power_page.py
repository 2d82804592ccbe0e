"""How much a question needs: a line a note and design, and the loss against glasses as f6."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.list_page import ListPage
from panel.desk.page import Follows
from panel.desk.slip import ReadSlip
from panel.desk.typed import Entries, above_zero, from_one
from panel.figures import in_digits

if TYPE_CHECKING:
    from collections.abc import Callable

    from analysis.next_glasses import PowerRow, PowerTable
    from panel.desk.page import Drawn
    from panel.questions.power import PowerAsked


def told(row: PowerRow) -> str:
    """Return the chance that some difference of two casks is seen."""
    from analysis.chance_words import in_percent

    return "" if row.simulated is None else in_percent(row.simulated)


def surely(row: PowerRow) -> str:
    """Return the chance that two casks are called surely apart."""
    from analysis.chance_words import in_percent

    return "" if row.beyond is None else in_percent(row.beyond)


COLUMNS: tuple[Column[PowerRow], ...] = (
    Column("Descriptor", 18, lambda r: r.note, stretch=True),
    Column("People", 6, lambda r: str(r.assessors), lambda r: r.assessors, right=True),
    Column("Casks", 5, lambda r: str(r.samples), lambda r: r.samples, right=True),
    Column("Sessions", 8, lambda r: str(r.sessions), lambda r: r.sessions, right=True),
    Column("Glasses", 7, lambda r: in_digits(r.glasses, ","), lambda r: r.glasses, right=True),
    Column("Found", 5, told, lambda r: r.simulated, right=True),
    Column("Apart", 5, surely, lambda r: r.beyond, right=True),
    Column("Loss", 5, lambda r: in_digits(r.loss, ".2f"), lambda r: r.loss, right=True),
)


class PowerTableLines(BigTable["PowerRow"]):
    """Notes and designs, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class PowerPage(ListPage):
    """What people, samples and sessions would tell."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    TITLE_WORDS = "How much a question needs"
    FIND_HINT = "words of a descriptor"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("j", "change", "Change", "power.change", "Other people, sessions, differences"),
        key("w", "why", "Why", "power.why", "What the columns mean"),
    ]

    @dataclass
    class Read(Message):
        """It has been reckoned."""

        found: PowerTable

    def __init__(self) -> None:
        from panel.questions.power import PowerAsked

        super().__init__()
        self.asked = PowerAsked()
        self.found: PowerTable | None = None

    def table(self) -> BigTable[PowerRow]:
        """Make the table."""
        return PowerTableLines(
            COLUMNS,
            name_of=lambda r: (r.note, r.assessors, r.samples, r.sessions),
            empty="Nothing known yet.",
        )

    @work(thread=True, exclusive=True, group="power", exit_on_error=False)
    def read(self) -> None:
        """Reckon it."""
        from panel.questions.power import house_power
        from panel.store.nosed import any_nosed

        with self.reckoning(), self.desk.store.read() as db:
            day = self.desk.today()
            known = self.desk.known.of(db, as_of=day) if any_nosed(db, day) else None
            found = house_power(db, self.asked, as_of=day, profile=known)
        self.hand_over(self.Read(found))

    def on_power_page_read(self, message: Read) -> None:
        """Show it."""
        from panel.words.power_words import power_sentence

        self.found = message.found
        self.fill(message.found.rows_of)
        self.say(power_sentence(message.found))

    def drawn_as(self) -> Drawn | None:
        """The loss against glasses."""
        found = self.found
        if found is None:
            return None
        from panel.pictures.power import saved_by_glasses

        return "What a glass saves", lambda _db: saved_by_glasses(found)

    def action_why(self) -> None:
        """Show the answer in words."""
        from panel.words.answers import paragraph
        from panel.words.power_words import KEY, power_sentence

        if self.found is not None:
            lines = paragraph(power_sentence(self.found), WORDS_WIDTH)
            self.app.push_screen(
                ReadSlip("How much a question needs", [*lines, "", *paragraph(KEY, WORDS_WIDTH)])
            )

    def action_change(self) -> None:
        """Ask for other designs."""

        def again(asked: PowerAsked) -> None:
            self.asked = asked
            self.read()

        self.app.push_screen(page_of("power form", self.asked, again))


def _several(text: str) -> tuple[int, ...]:
    return tuple(from_one(part) for part in text.replace(",", " ").split())


class PowerForm(DeedForm):
    """People, samples and sessions that are compared."""

    ONLY_ASKS = True
    PLACE = "sessions"
    TITLE_WORDS = "What is compared"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("assessors", "Assessors", "one or several numbers; empty: who is here"),
        Field("samples", "Samples", "casks in a session; empty: 6"),
        Field("sessions", "Sessions", "such as 1 2 4 8"),
        Field("points", "Difference", "points between two casks; empty: twice the tolerance"),
        Field("casks", "Casks", "to choose from", value="60"),
        Field("best", "Best", "to be chosen of them", value="5"),
    )

    def __init__(self, asked: PowerAsked, then: Callable[[PowerAsked], None]) -> None:
        super().__init__(
            {
                **{
                    name: " ".join(map(str, getattr(asked, name)))
                    for name in ("assessors", "samples", "sessions")
                },
                "points": "" if asked.points is None else in_digits(asked.points, "g"),
                "casks": str(asked.casks),
                "best": str(asked.best),
            }
        )
        self.asked, self.then = asked, then

    def do(self, values: dict[str, str]) -> str:
        """Hand the designs to the page below."""
        entries, wanted = Entries(values), "whole numbers from 1 up"
        counts = {
            name: entries.read(name, _several, wanted) or ()
            for name in ("assessors", "samples", "sessions")
        }
        points = entries.read("points", above_zero, "points above 0")
        casks = entries.read("casks", from_one, "a whole number from 1 up") or 60
        best = entries.read("best", from_one, "a whole number from 1 up") or 5
        if best >= casks:
            entries.faults["best"] = "fewer than there are casks"
        entries.settle()
        asked = replace(
            self.asked,
            points=points,
            casks=casks,
            best=best,
            assessors=counts["assessors"],
            samples=counts["samples"],
            sessions=counts["sessions"],
        )
        self.app.call_from_thread(self.then, asked)
        return "Reckoned as asked."

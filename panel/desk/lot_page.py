"""From a bottle back: vat, casks, draws, sessions, other lots, and the bottles in the house."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.acting import writing
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.form import finishing
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.page import Page
from panel.desk.typed import DAY_HINT, Entries
from panel.errors import EntriesAtFault
from panel.kinds import BottleKind
from panel.words.lot_words import NEVER_POURED, lot_lines, next_of_lot

if TYPE_CHECKING:
    from panel.desk.page import Handed
    from panel.release.lot_trace import LotTrace


class LotPage(Page):
    """Everything on record behind a bottle of a release."""

    PLACE = "releases"
    TITLE_WORDS = "Lot"
    DEFAULT_CSS = "LotPage Static { padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "lot.new", "Write down a remark on it"),
        key("x", "write_page", "Hand on", "lot.hand_on", "Write a page of it into a file"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("lot.keep", "Bottles kept", "keep", "Bottles of it that stand in the house"),
        Offer("lot.gone", "A bottle is gone", "gone", "To the laboratory, destroyed, given back"),
        Offer("lot.nose", "Nose it blind", "nose", "A retained bottle beside an unopened one"),
    )

    @dataclass
    class Read(Message):
        """The lot has been traced."""

        found: LotTrace

    def __init__(self, release: str) -> None:
        super().__init__()
        self.release = release
        self.found: LotTrace | None = None

    def body(self) -> ComposeResult:
        """Put the lines into a frame that scrolls."""
        with VerticalScroll():
            yield Static(Content(""), id="traced")

    def set_up(self) -> None:
        """Stand in the lines."""
        super().set_up()
        self.query_one(VerticalScroll).focus()

    @work(thread=True, exclusive=True, group="lot", exit_on_error=False)
    def read(self) -> None:
        """Trace it."""
        from panel.release.lot_trace import trace_lot

        with self.desk.store.read() as db:
            found = trace_lot(db, self.release)
        self.hand_over(self.Read(found))

    def on_lot_page_read(self, message: Read) -> None:
        """Show it."""
        self.found = message.found
        self.head(f"Lot {message.found.lot}", message.found.release)
        self.query_one("#traced", Static).update(Content("\n".join(lot_lines(message.found))))

    def action_new(self) -> None:
        """Open the form for a remark on it."""
        self.app.push_screen(page_of("remark", self.found.lot if self.found else self.release))

    def action_keep(self) -> None:
        """Open the form for bottles of it."""
        self.app.push_screen(page_of("lot bottles", self.release))

    def action_gone(self) -> None:
        """Open the form for a bottle that left its place."""
        here = [each.bottle for each in self.found.kept if each.is_here] if self.found else []
        if here:
            self.app.push_screen(page_of("bottle gone", here))
        else:
            self.say("No full bottle of it stands in the house by the records.")

    def action_nose(self) -> None:
        """Open the form for a blind session of it."""
        self.app.push_screen(page_of("nose lot", self.release))

    def handed_on(self, reader: str) -> Handed | None:
        """The page of the lot."""
        from panel.desk.handing import lot_page

        return lot_page(self.desk, self.found.lot or self.release) if self.found else None

    @property
    def next_words(self) -> str:
        """What to do next about it."""
        return "" if self.found is None else next_of_lot(self.found)


class LotForm(DeedForm):
    """A deed about bottles of one lot."""

    PLACE = "releases"

    def __init__(self, release: str) -> None:
        super().__init__()
        self.release = release

    def set_up(self) -> None:
        """Say which lot."""
        super().set_up()
        self.head(fact=self.release)


class LotBottlesForm(LotForm):
    """Bottles of a lot that stand in the house: kept back, unopened from outside, or come back."""

    TITLE_WORDS = "Bottles of a lot in the house"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Keep", "Write them down")]

    def fields(self) -> Sequence[Field]:
        """Return the fields: two full bottles kept back, unless something else is said."""
        kinds = tuple(kind.value for kind in BottleKind)
        return (
            Field("kind", "Kind", "← and → choose", choices=kinds),
            Field("count", "Bottles", "how many", "2"),
            Field("place", "Place", "where they stand", wide=True),
            Field("remark", "Remark", "the number of the remark they came with; may be empty"),
            Field("kept_on", "Since", DAY_HINT, str(self.desk.today())),
        )

    def do(self, values: dict[str, str]) -> str:
        """Write them down."""
        from panel.release.lot_bottles import keep_bottles

        typed = Entries(values)
        place = typed.needed("place", "where they stand")
        count = typed.read("count", int, "a number of bottles") or 0
        remark = typed.read("remark", int, "the number of a remark")
        day = typed.day("kept_on")
        typed.settle()
        desk = self.desk
        with writing(desk.store) as db:
            done = keep_bottles(
                *(db, self.release),
                place=place,
                count=count,
                kind=BottleKind(values.get("kind", BottleKind.RETAINED.value)),
                remark=remark,
                kept_on=day,
                now=desk.now(),
                by=desk.by,
            )
        said = f"Bottles {', '.join(map(str, done.bottles))} of {done.lot}: {done.place}."
        return f"{said} {NEVER_POURED}" if done.kind is BottleKind.OPENED else said


class BottleGoneForm(DeedForm):
    """Where a bottle went."""

    PLACE = "releases"
    TITLE_WORDS = "A bottle is gone"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Keep", "Keep where it went")]

    def __init__(self, bottles: Sequence[int]) -> None:
        super().__init__()
        self.bottles = tuple(bottles)

    def fields(self) -> Sequence[Field]:
        """Return the fields: which bottle, and where it went."""
        numbers = tuple(map(str, self.bottles))
        return (
            Field("bottle", "Bottle", "← and → choose", choices=numbers),
            Field("gone_to", "Gone to", "laboratory, destroyed, given back", wide=True),
        )

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.release.lot_bottles import bottle_gone

        typed = Entries(values)
        where = typed.needed("gone_to", "where it went")
        typed.settle()
        desk, number = self.desk, int(values.get("bottle", self.bottles[0]))
        with writing(desk.store) as db:
            done = bottle_gone(db, number, gone_to=where, now=desk.now(), by=desk.by)
        return f"Bottle {done.bottle} is gone: {done.gone_to}."


class NoseLotForm(LotForm):
    """The draft of a session: a retained bottle of a lot blind beside an unopened one."""

    TITLE_WORDS = "Nose a retained bottle beside an unopened one"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Plan", "Write the draft of the session")]

    def fields(self) -> Sequence[Field]:
        """Return the fields."""
        return (
            Field("name", "Session", "a name for it that does not tell what it is about"),
            Field("held_on", "Day", DAY_HINT, str(self.desk.today())),
        )

    def do(self, values: dict[str, str]) -> str:
        """Plan it."""
        from panel.release.lot_nosing import plan_bottle_nosing

        typed = Entries(values)
        name = typed.needed("name", "a name for the session")
        day = typed.day("held_on")
        typed.settle()
        if not name.strip():
            raise EntriesAtFault({"name": "a name for the session"})
        desk = self.desk
        with writing(desk.store) as db:
            done = plan_bottle_nosing(
                db, self.release, name, held_on=day, now=desk.now(), by=desk.by
            )
        return f"Session {done.session} is drafted: 1 Sessions seals it."

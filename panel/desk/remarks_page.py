"""Remarks that people outside made on bottles: open ones first, never who made them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message
from textual.screen import Screen

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.forget_forms import OneRemarkForm
from panel.desk.form import finishing
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.list_page import ListPage
from panel.desk.typed import DAY_HINT, Entries
from panel.kinds import RemarkKind
from panel.words.lot_words import TELL_SAFETY, remark_state

if TYPE_CHECKING:
    from panel.release.lot_trace import RemarkTold

EMPTY = """No remark on a bottle is on record: n writes one down.
It leads back to the casks, to who nosed them, and to other lots that share a cask."""
COLUMNS: tuple[Column[RemarkTold], ...] = (
    Column("No.", 4, lambda r: str(r.remark), lambda r: r.remark, right=True),
    Column("Day", 10, lambda r: str(r.made_on), lambda r: r.made_on),
    Column("Lot", 11, lambda r: r.lot or r.release),
    Column("About", 18, lambda r: r.kind.value),
    Column("Said", 30, lambda r: r.said, stretch=True),
    Column("Ended", 24, remark_state),
)


class RemarkTable(BigTable["RemarkTold"]):
    """Remarks, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class RemarksPage(ListPage):
    """All remarks; Enter goes back from the bottle to the casks."""

    PLACE = "releases"
    TITLE_WORDS = "Remarks on bottles"
    FIND_HINT = "words of lot, day, what was said"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "remarks.new", "Write down what somebody said of a bottle"),
        key("k", "close", "Confirm", "remarks.close", "Close it: how it ended"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("remarks.safety", "Safety was told", "safety", "Whoever answers for safety knows"),
        Offer("remarks.forget", "Forget who made it", "forget", "Deletes name and address"),
    )

    @dataclass
    class Read(Message):
        """The remarks have been read."""

        remarks: list[RemarkTold]

    def table(self) -> BigTable[RemarkTold]:
        """Make the table of remarks."""
        return RemarkTable(COLUMNS, name_of=lambda r: str(r.remark), empty=EMPTY)

    @work(thread=True, exclusive=True, group="remarks", exit_on_error=False)
    def read(self) -> None:
        """Read them."""
        from panel.release.lot_trace import all_remarks

        with self.desk.store.read() as db:
            remarks = all_remarks(db)
        self.hand_over(self.Read(remarks))

    def on_remarks_page_read(self, message: Read) -> None:
        """Show them."""
        self.fill(message.remarks)
        if any(r.concerns_safety and r.told_safety_on is None for r in message.remarks):
            self.say(TELL_SAFETY, trouble=True)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go back from the bottle to the casks."""
        self.app.push_screen(page_of("lot", event.row.release))

    def action_new(self) -> None:
        """Open the form for a remark."""
        self.app.push_screen(page_of("remark"))

    def action_close(self) -> None:
        """Open the form that closes the remark of the arrow."""
        self._open(lambda remark: page_of("close remark", remark))

    def action_safety(self) -> None:
        """Keep that whoever answers for safety was told."""
        self._open(lambda remark: page_of("safety told", remark))

    def action_forget(self) -> None:
        """Ask whether who made it is to be forgotten."""
        self._open(lambda remark: page_of("forget who", remark))

    def _open(self, page: Callable[[int], Screen[Any]]) -> None:
        remark: RemarkTold | None = self.query_one(RemarkTable).current
        if remark is not None:
            self.app.push_screen(page(remark.remark))


class RemarkForm(DeedForm):
    """What somebody outside said of a bottle; who they are is optional and kept apart."""

    PLACE = "releases"
    TITLE_WORDS = "A remark on a bottle"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Keep", "Write it down")]

    def __init__(self, lot: str = "") -> None:
        super().__init__({"lot": lot} if lot else {})
        self.lot = lot

    def fields(self) -> tuple[Field, ...]:
        """Return the fields, today's date among them."""
        kinds = tuple(kind.value for kind in RemarkKind)
        return (
            Field("lot", "Lot", "its code, or the release", self.lot),
            Field("made_on", "Day", DAY_HINT, str(self.desk.today())),
            Field("kind", "About", "← and → choose", choices=kinds),
            Field("said", "Said", "in their words as far as you can", wide=True),
            Field("who", "Who", "may be empty; deleted when it is closed", wide=True),
            Field("reach", "Reached", "where they can be answered; deleted likewise", wide=True),
        )

    def do(self, values: dict[str, str]) -> str:
        """Write it down."""
        from panel.release.lot_bottles import keep_remark

        typed = Entries(values)
        lot = typed.needed("lot", "the code on the bottle, or the release")
        day = typed.day("made_on")
        said = typed.needed("said", "what they said")
        typed.settle()
        desk = self.desk
        with writing(desk.store) as db:
            kept = keep_remark(
                *(db, lot),
                said=said,
                kind=RemarkKind(values.get("kind", RemarkKind.REMARK.value)),
                made_on=day,
                who=values.get("who"),
                reach=values.get("reach"),
                now=desk.now(),
                by=desk.by,
            )
        told = f"Remark {kept.remark} on {kept.lot} is kept."
        return f"{told} {TELL_SAFETY}" if kept.tell_safety else told


class SafetyForm(OneRemarkForm):
    """That whoever answers for safety was told of a remark."""

    TITLE_WORDS = "Whoever answers for safety was told"
    BINDINGS: ClassVar[list[BindingType]] = [finishing("Told", "Keep that they know")]

    def do(self, values: dict[str, str]) -> str:
        """Keep it."""
        from panel.release.lot_bottles import tell_safety

        desk = self.desk
        with writing(desk.store) as db:
            remark = tell_safety(db, self.remark, now=desk.now(), by=desk.by)
            return f"Remark {self.remark}: safety was told on {remark.told_safety_on}."

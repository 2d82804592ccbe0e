"""What to nose next: casks with a reason each, swaps with their price, draws, and a plan of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.mind import WORDS, mind_slip
from panel.desk.page import Follows, Page
from panel.desk.pick import PickPage
from panel.desk.slip import ReadSlip
from panel.desk.ticks import TickTable, draw_ticked
from panel.figures import count, in_digits
from panel.words.vat_mind_words import BENCH

if TYPE_CHECKING:
    from analysis.next_glasses import CaskToPour
    from panel.questions.next_choices import NextChoice
    from panel.questions.next_session import NextAnswer
    from panel.questions.stock_part import StockPart


@dataclass(frozen=True)
class NextRow:
    """A cask of the session, and why it is in it."""

    cask: str
    glasses: int
    value: float
    where: str
    why: str


COLUMNS: tuple[Column[NextRow], ...] = (
    Column("Cask", 11, lambda r: r.cask),
    Column("Glasses", 7, lambda r: str(r.glasses), lambda r: r.glasses, right=True),
    Column("Saves", 6, lambda r: in_digits(r.value, ".2f"), lambda r: r.value, right=True),
    Column("Where", 14, lambda r: r.where),
    Column("Reason", 30, lambda r: r.why, stretch=True),
)


@dataclass(frozen=True)
class FreeCask:
    """A cask that could come in."""

    cask: str
    wood: str
    make: str


FREE_COLUMNS: tuple[Column[FreeCask], ...] = (
    Column("Cask", 11, lambda c: c.cask),
    Column("Make", 18, lambda c: c.make),
    Column("Wood", 24, lambda c: c.wood, stretch=True),
)


class NextTable(TickTable["NextRow"]):
    """The casks, the one that saves most first."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class NextPage(Page):
    """What deciding today costs, whether to stop, and the session that saves most."""

    PLACE = "sessions"
    FOLLOWS = Follows.WHEN_ASKED
    DEFAULT_CSS = """
    NextPage #cost { height: auto; max-height: 10; padding: 0 1; text-style: bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("k", "plan", "Keep", "next.plan", "Plan this session as a draft"),
        key("j", "swap", "Change", "next.swap", "Another cask for this one, with the price"),
        key("w", "why", "Why", "next.why", "Why each cask is in it"),
        key("v", "trays", "List", "next.trays", "Who noses what"),
        key("d", "draw", "Draw", "next.draw", "Write down a draw of each cask ticked"),
        key("p", "paper", "Paper", "next.paper", "The draws to be taken, for the warehouse"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("next.mind", WORDS, "mind", "Casks that could cross the cut"),
        Offer("next.at_hand", "Only samples at hand, or all", "at_hand", "What needs no new draw"),
        Offer("next.part", "Narrow to a part of the stock", "part", "One parcel or warehouse"),
        Offer("next.as_found", "Without the swaps", "as_found", "As it was proposed first"),
    )

    @dataclass
    class Read(Message):
        """The session has been reckoned."""

        answer: NextAnswer
        later: str

    @dataclass
    class ReadFree(Message):
        """Which casks could come in for one."""

        out: str
        casks: list[FreeCask]

    def __init__(self, asked: NextChoice) -> None:
        super().__init__()
        self.asked = asked
        self.wanted = asked.wanted
        self.answer: NextAnswer | None = None

    def body(self) -> ComposeResult:
        """What it costs, then the casks."""
        yield Static(id="cost")
        yield NextTable(
            COLUMNS, name_of=lambda r: r.cask, empty="No glass that can be poured adds anything."
        )

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"Nose next: {self.asked.about}")
        self.say("Reckoning over all sessions; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="next", exit_on_error=False)
    def read(self) -> None:
        """Reckon the session."""
        from panel.desk.next_jobs import read_next

        with self.reckoning():
            answer, later = read_next(self.desk, self.wanted, self.asked.release)
        self.hand_over(self.Read(answer, later))

    def on_next_page_read(self, message: Read) -> None:
        """Show it."""
        from analysis.next_glasses.verdict import cost_sentence, stop_sentence
        from panel.words.apart_words import apart_in_short
        from panel.words.next_words import chosen_in_short, poured_words, swap_words

        answer = self.answer = message.answer
        found = answer.found
        said = [stop_sentence(found), cost_sentence(found)]
        said += [f"{chosen_in_short(found)}."] if found.cut else []
        said += [swap_words(swap, found) for swap in answer.swaps]
        said += [words for words in (apart_in_short(found), message.later) if words]
        self.query_one("#cost", Static).update(Content("\n".join(said)))
        self.query_one(NextTable).fill([self._row(one) for one in found.casks])
        size = f"{count(len(found.glasses), 'glass', 'glasses')}, {poured_words(found)}"
        self.head(self._title(), f"if you go on: {size}" if found.stop.stop else size)
        lacking = len(answer.draws)
        self.say(f"{lacking} have to be drawn first: p lists them." if lacking else "")
        self.refresh_bindings()

    def _title(self) -> str:
        part = self.wanted.room.part.words()
        return f"Nose next: {self.asked.about}" + (f", {part}" if part else "")

    def _row(self, one: CaskToPour) -> NextRow:
        from panel.words.next_words import why_words

        where = (one.shed or "to draw") if one.to_draw else f"{one.sample}"
        found = self.answer.found if self.answer else None
        why = why_words(one, found) if found else ""
        return NextRow(one.cask or BENCH, one.n_glasses, one.value, where, why)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the cask's life."""
        if event.row.cask != BENCH:
            self.app.push_screen(page_of("cask", event.row.cask))

    def _show(self, title: str, lines: list[str]) -> None:
        self.app.push_screen(ReadSlip(title, lines))

    def action_why(self) -> None:
        """Show the reasons whole."""
        from panel.words.answers import paragraph
        from panel.words.next_words import after_it_words, reason_lines, why_title

        if self.answer is not None:
            found = self.answer.found
            meaning = [
                line for said in after_it_words(found) for line in paragraph(said, WORDS_WIDTH)
            ]
            self._show(why_title(found), [*meaning, *reason_lines(found, WORDS_WIDTH)])

    def action_trays(self) -> None:
        """Show who noses what."""
        from panel.words.next_words import seats_lines

        if self.answer is not None:
            self._show("Who noses what", seats_lines(self.answer.found, WORDS_WIDTH))

    def action_paper(self) -> None:
        """Show what the warehouse draws."""
        from panel.words.next_words import draws_lines

        if self.answer is not None:
            self._show("Draws to be taken", draws_lines(self.answer, WORDS_WIDTH))

    def action_mind(self) -> None:
        """Show what the next session could change."""
        if self.answer is not None:
            found = self.answer.found
            self.app.push_screen(mind_slip(found.vat or found.changes))

    def action_draw(self) -> None:
        """Open the form for draws of the casks ticked, else of all that have to be drawn."""
        table = self.query_one(NextTable)
        if self.answer is not None and not table.ticked:
            wanted = {draw.cask for draw in self.answer.draws}
            table.tick(row for row in table.rows if row.cask in wanted)
        draw_ticked(self, table, lambda row: row.cask)

    def action_at_hand(self) -> None:
        """Ask for samples that stand on the shelf only, or for all again."""
        room = self.wanted.room
        self._again(room=replace(room, at_hand=not room.at_hand), swaps=())

    def action_part(self) -> None:
        """Ask by what the casks are narrowed."""
        room = self.wanted.room

        def narrowed(part: StockPart | None) -> None:
            if part is not None:
                self._again(room=replace(room, part=part), swaps=())

        self.app.push_screen(page_of("stock part", room.part), narrowed)

    def action_as_found(self) -> None:
        """Forget the swaps."""
        self._again(swaps=())

    def _again(self, **changes: object) -> None:
        self.wanted = replace(self.wanted, **changes)  # type: ignore[arg-type]
        self.say("Reckoning ...")
        self.read()

    def action_swap(self) -> None:
        """Ask which cask comes in for that of the arrow."""
        row = self.query_one(NextTable).current
        if row is not None and row.cask != BENCH:
            self.read_free(row.cask)

    @work(thread=True, exclusive=True, group="free", exit_on_error=False)
    def read_free(self, out: str) -> None:
        """Read which casks could come in."""
        from panel.desk.next_jobs import casks_free

        answer = self.answer
        if answer is not None:
            casks = [FreeCask(*told) for told in casks_free(self.desk, answer.found)]
            self.hand_over(self.ReadFree(out, casks))

    def on_next_page_read_free(self, message: ReadFree) -> None:
        """Let one be picked; the session is then reckoned with it."""
        page = PickPage(
            f"Which cask in place of {message.out}?",
            message.casks,
            FREE_COLUMNS,
            name_of=lambda cask: cask.cask,
            place=self.PLACE,
            many=False,
        )

        def picked(names: tuple[str, ...] | None) -> None:
            if names:
                self._again(swaps=(*self.wanted.swaps, (message.out, names[0])))

        self.app.push_screen(page, picked)

    def action_plan(self) -> None:
        """Open the form that names and plans it."""
        if self.answer is None or not self.answer.found.glasses:
            self.say("No glass is proposed, so there is no session to plan.")
        elif self.answer.draws:
            lacking = len(self.answer.draws)
            self.say(f"{lacking} have to be drawn first: d writes their draws down, then f5.")
        else:
            self.app.push_screen(page_of("plan next", self.answer))

"""A passing session: its casks and blocks, what each nose caught, and holds to be lifted."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import ContentSwitcher, Static

from panel.desk.acting import writing
from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.pin_slip import proved
from panel.desk.slip import Confirm
from panel.records.acts import Act

if TYPE_CHECKING:
    from analysis.passing import BlockFound, CaskFound
    from panel.desk.page import Handed
    from panel.questions.passing import PassingAnswer

VIEWS = ("casks", "blocks", "said-view")
STATES = ("held", "to nose again", "nosed by nobody", "passed")

CASK_COLUMNS: tuple[Column[CaskFound], ...] = (
    Column("Cask", 9, lambda c: c.cask),
    Column("Stands", 15, lambda c: c.state.value, lambda c: STATES.index(c.state.value)),
    Column("Today", 13, lambda c: c.now.word.value if c.now else ""),
    Column("Faults", 16, lambda c: ", ".join(c.faults)),
    Column("Noses", 5, lambda c: str(c.noses), lambda c: c.noses, right=True),
    Column("Held by", 7, lambda c: str(c.held_by), lambda c: c.held_by, right=True),
    Column("Draw", 8, lambda c: c.sample, stretch=True),
)
BLOCK_COLUMNS: tuple[Column[BlockFound], ...] = (
    Column("Nose", 12, lambda b: b.assessor),
    Column("Block", 5, lambda b: str(b.block), lambda b: b.block, right=True),
    Column("Passed", 6, lambda b: str(b.passed), lambda b: b.passed, right=True),
    Column("Held", 5, lambda b: str(b.held), lambda b: b.held, right=True),
    Column("Caught", 9, lambda b: f"{b.caught} of {b.spikes}"),
    Column("Stopped", 9, lambda b: f"{b.stopped} of {b.sound}", stretch=True),
)


class PassedTable(BigTable["CaskFound"]):
    """Casks, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(CASK_COLUMNS)


class BlockTable(BigTable["BlockFound"]):
    """Blocks, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(BLOCK_COLUMNS)


class PassingPage(Page):
    """Casks, blocks and sentences of one passing session; v turns from one to the next."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    PassingPage #verdict { height: auto; max-height: 6; padding: 0 1; text-style: bold; }
    PassingPage ContentSwitcher { height: 1fr; }
    PassingPage #said { padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("v", "turn", "Other view", "passing.turn", "Casks, blocks or what is said"),
        key("h", "lift", "Hold", "passing.lift", "Lift the hold of the cask at the arrow"),
        key("n", "again", "New", "passing.again", "Plan what a second nose noses"),
        key("p", "slips", "Paper", "passing.slips", "What nobody may empty, by warehouse"),
        key("x", "write_page", "Hand on", "passing.hand_on", "Write a page of it into a file"),
    ]
    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("passing.lead_page", "A page for the lead", "write_page('lead')", "It names noses"),
        Offer("passing.noses", "Over many mornings", "noses", "What each nose catches and stops"),
    )

    @dataclass
    class Read(Message):
        """The session has been judged."""

        found: PassingAnswer
        late: tuple[str, ...] = ()

    @dataclass
    class Lifted(Message):
        """A hold was lifted."""

        news: str

    def __init__(self, name: str) -> None:
        super().__init__()
        self.session_name = name
        self.found: PassingAnswer | None = None

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this session."""
        from panel.desk.handing import session_page

        return session_page(self.desk, self.session_name, reader)

    def body(self) -> ComposeResult:
        """The counts and noses, one of three views."""
        yield Static(id="verdict")
        yield LateWords()
        with ContentSwitcher(initial="casks"):
            yield PassedTable(
                CASK_COLUMNS, name_of=lambda c: c.cask, empty="No cask was nosed.", id="casks"
            )
            yield BlockTable(
                BLOCK_COLUMNS, name_of=lambda b: f"{b.assessor} {b.block}", id="blocks"
            )
            with VerticalScroll(id="said-view"):
                yield Static(id="said")

    def set_up(self) -> None:
        """Say which session."""
        super().set_up()
        self.head(f"Passing of {self.session_name}")

    @work(thread=True, exclusive=True, group="passing", exit_on_error=False)
    def read(self) -> None:
        """Judge the session."""
        from panel.questions.passing import passing_answer
        from panel.session.reopened import reopened_lines

        with self.desk.store.read() as db:
            found = passing_answer(db, self.session_name)
            late = reopened_lines(db, [self.session_name])
        self.hand_over(self.Read(found, late))

    def on_passing_page_read(self, message: Read) -> None:
        """Show casks, blocks and sentences."""
        self.found = message.found
        result = message.found.result
        self.query_one(LateWords).tell(message.late)
        self.head(fact=f"{len(result.casks)} casks")
        first = result.sentences[: 1 + len(result.noses)]
        self.query_one("#verdict", Static).update(Content("\n".join(first)))
        self.query_one("#said", Static).update(Content("\n".join(result.sentences)))
        rows = sorted(result.casks, key=lambda cask: STATES.index(cask.state.value))
        self.query_one(PassedTable).fill(rows)
        self.query_one(BlockTable).fill(result.blocks)
        self.refresh_bindings()

    @on(BigTable.Opened)
    def open_cask(self, event: BigTable.Opened) -> None:
        """Go to the cask at the arrow."""
        if event.lines.id == "casks":
            self.app.push_screen(page_of("cask", event.row.cask))

    def action_turn(self) -> None:
        """Go to the next view."""
        switch = self.query_one(ContentSwitcher)
        view = VIEWS[(VIEWS.index(str(switch.current)) + 1) % len(VIEWS)]
        switch.current = view
        self.query_one("#verdict").display = view != "said-view"
        self.query_one(f"#{view}").focus()
        self.refresh_bindings()

    def can_now(self, action: str) -> bool:
        """Offer a lift only where a cask stands at the arrow that was not passed."""
        if action == "again":
            return bool(self.found and any(cask.waits for cask in self.found.result.casks))
        if action != "lift":
            return True
        switches = self.query(ContentSwitcher)
        return bool(self.found and switches and switches.first().current == "casks")

    def action_again(self) -> None:
        """Open the form of a plan for a second nose."""
        from panel.kinds import SessionKind

        passing = next(kind for kind in SessionKind if kind.facts.passes)
        values = {"kind": passing.value, "again": self.session_name}
        said = "A second nose: choose people who did not nose these, and give it a name."
        self.app.push_screen(page_of("plan", values, said))

    def action_slips(self) -> None:
        """Show what nobody may empty."""
        self.app.push_screen(page_of("slips"))

    def action_noses(self) -> None:
        """Show what many mornings tell."""
        self.app.push_screen(page_of("noses"))

    def action_lift(self) -> None:
        """Ask, then lift the hold of the cask at the arrow."""
        row = self.query_one(PassedTable).current
        if row is None:
            return
        cask = row.cask

        def answered(agreed: bool | None) -> None:
            if agreed:
                proved(self.desk, Act.LIFT, lambda: self.lift(cask))

        asked = [
            f"Lift the hold of {cask}? It takes somebody who did not hold it, and a second nose "
            "that passed it since."
        ]
        self.app.push_screen(Confirm("Lift a hold", asked), answered)

    @work(thread=True, exclusive=True, group="lift", exit_on_error=False)
    def lift(self, cask: str) -> None:
        """Lift it."""
        from panel.records.lifting import lift_passing_hold

        desk = self.desk
        with writing(desk.store) as db:
            done = lift_passing_hold(db, cask, now=desk.now(), by=desk.by)
        self.post_message(self.Lifted(f"{done.filling} is free; it was held for: {done.reason}."))

    def on_passing_page_lifted(self, message: Lifted) -> None:
        """Tell it and read anew."""
        self.desk.wrote(message.news)
        self.say(self.desk.take_news())
        self.seen = self.desk.changes
        self.read()

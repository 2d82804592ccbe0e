"""The first steps of a house: six, ticked as they are done, each opening its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.page import Page
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.questions.first_steps import Step

TOLD = {
    "casks": "makes first, then casks: what lies where",
    "lexicon": "the words that are scored, each with both ends of its line",
    "people": "who noses; a PIN for each who sits at a booth",
    "draws": "samples from casks, and a reference",
    "session": "planned, sealed, poured, opened, closed, revealed",
    "target": "what a release should be like",
}
PLACE_OF = {
    "casks": "casks",
    "lexicon": "lexicon",
    "people": "people",
    "draws": "casks",
    "session": "sessions",
    "target": "targets",
}
WORDS = (
    "Six steps to a first blind session and the release it is for. Enter opens the place of a "
    "step, n brings its records in from a file, + a whole folder of files."
)
NO_FILE = "A session is planned, not brought in: enter, then n."


def what_it_takes(step: Step) -> str:
    """Return what there is still to do, or what the step takes where it is not begun or done."""
    return step.wanting if step.held and step.wanting else TOLD[step.name]


COLUMNS: tuple[Column[Step], ...] = (
    Column("Done", 5, lambda step: "✓" if step.done else "·"),
    Column("Step", 8, lambda step: step.name),
    Column("Held", 7, lambda step: in_digits(step.held, ","), lambda step: step.held, right=True),
    Column(
        "What it takes",
        54,
        lambda step: (step.held and step.wanting) or TOLD[step.name],
        stretch=True,
    ),
)


class StepsTable(BigTable["Step"]):
    """The steps in their order."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class StartPage(Page):
    """Shown while there is no session and something is wanting for one; offered at any time."""

    PLACE = "sessions"
    TITLE_WORDS = "First steps"
    DEFAULT_CSS = "StartPage #words { height: auto; padding: 0 1 1 1; }"
    OFFERS = (
        Offer(
            "start.folder",
            "Bring in a whole folder",
            "folder",
            "All CSV and Excel files of a folder",
        ),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("plus", "folder", "Whole folder", "start.more", "Bring in a folder of files"),
        key("n", "bring", "Add", "start.bring", "Bring the records of this step in from a file"),
    ]

    @dataclass
    class Read(Message):
        """What is done has been read."""

        steps: tuple[Step, ...]

    def body(self) -> ComposeResult:
        """Say what the steps lead to, then list them."""
        yield Static(Content(WORDS), id="words")
        yield StepsTable(COLUMNS, name_of=lambda step: step.name)

    @work(thread=True, exclusive=True, group="steps", exit_on_error=False)
    def read(self) -> None:
        """Read what is done."""
        from panel.questions.first_steps import first_steps

        with self.desk.store.read() as db:
            steps = first_steps(db)
        self.hand_over(self.Read(steps))

    def on_start_page_read(self, message: Read) -> None:
        """Show it; the arrow goes to the first that is not done."""
        table = self.query_one(StepsTable)
        fresh = not table.filled
        table.fill(message.steps)
        first = next((step for step in message.steps if not step.done), None)
        if fresh and first is not None:
            table.go_to(first.name)
            table.refresh()
        done = sum(step.done for step in message.steps)
        self.head(fact=f"{done} of {len(message.steps)} done")

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go to the place of the step; for a session the list lies below."""
        place = PLACE_OF[event.row.name]
        if place == self.desk.current_mode:
            self.action_back()
        else:
            self.desk.action_go(place)

    def action_bring(self) -> None:
        """Open the form that brings the records of the step in."""
        step: Step | None = self.query_one(StepsTable).current
        if step is None:
            return
        if step.kind is None:
            self.say(NO_FILE)
        else:
            self.app.push_screen(page_of("load", step.kind, self.PLACE))

    def action_folder(self) -> None:
        """Open the form that brings a whole folder in."""
        self.app.push_screen(page_of("folder"))

"""The screen that all screens of the desk are built on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum, auto
from typing import TYPE_CHECKING, Any, ClassVar, cast

from textual import work
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.screen import Screen
from textual.worker import Worker, WorkerState, get_current_worker

from panel.desk.big_table import BigTable
from panel.desk.homes import page_of
from panel.desk.keys import Offer
from panel.desk.window import Hoop, KeyLine, SayLine, TopLine

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from textual.app import ComposeResult

    from analysis.pictures import Picture, Plane
    from analysis.under_way import Step
    from panel.desk.app import DeskApp
    from panel.store.engine import Session

    Drawn = tuple[str, Callable[[Session], Sequence[Picture | Plane]]]
    Handed = tuple[str, Callable[[Session], str]]


def in_words(error: BaseException | None) -> str:
    """Return what a person reads about *error*: our own sentence, never a traceback."""
    from analysis.errors import AnalysisError
    from panel import fault_log
    from panel.errors import OakpanelError

    if error is None or isinstance(error, OakpanelError | AnalysisError):
        return str(error)
    return f"{fault_log.told(error)} Nothing was written; try again."


class Follows(Enum):
    """When a page reads again by itself, as others change what it shows."""

    NOTHING = auto()
    WHEN_ASKED = auto()
    """What it shows takes a reckoning: it says so, and f5 reads it anew."""
    RECORDS = auto()
    BOOTHS = auto()
    """Records, and every glass that is taken, scored or put down."""


AT_ONCE = (Follows.RECORDS, Follows.BOOTHS)
BESIDE = 5
"""Columns that stand beside lines of text: the page's edge, and what it scrolls by."""
CHANGED = "Records have been changed: f5 reads this page anew."


class Page(Screen[Any]):
    """Places on top, a heading, the body, a message line, the keys."""

    PLACE: ClassVar[str] = ""
    TITLE_WORDS: ClassVar[str] = ""
    IN_A_HOUSE: ClassVar[bool] = True
    """Whether there are places to go to; before a house is made there are none."""
    FOLLOWS: ClassVar[Follows] = Follows.RECORDS
    OFFERS: ClassVar[tuple[Offer, ...]] = ()
    """What can be done here beside the keys; `check_action` says whether it can now."""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back", id="page.back", tooltip="One step back up"),
        Binding("f6", "picture", "Picture", id="page.picture", tooltip="The answer as a picture"),
        Binding("f5", "again", "Read again", show=False, id="page.again", tooltip="Read anew"),
    ]

    how_far = ""
    """What was said last of a reckoning under way."""

    @dataclass
    class HowFar(Message):
        """A reckoning is so far."""

        words: str

    @dataclass
    class Written(Message):
        """A page was written, or could not be."""

        words: str
        trouble: bool

    @property
    def desk(self) -> DeskApp:
        """The app, with the store, the clock and who sits here."""
        return cast("DeskApp", self.app)

    @property
    def text_width(self) -> int:
        """Columns that a line of a text on the page has."""
        return self.app.size.width - BESIDE

    def compose(self) -> ComposeResult:
        """Stack the frame around the body."""
        if self.IN_A_HOUSE:
            yield TopLine(self.PLACE, self.desk.base, self.desk.by, self.desk.call_words())
        yield Hoop(self.TITLE_WORDS)
        yield from self.body()
        yield SayLine()
        yield KeyLine()

    def body(self) -> ComposeResult:
        """Give the widgets of this page."""
        yield from ()

    def on_mount(self) -> None:
        """Set up and read once. The framework calls this of every class, so nobody overrides it."""
        self.note_what_is_read()
        self.set_up()
        self.read()

    def set_up(self) -> None:
        """Prepare what stands on the page before anything is read."""

    def on_screen_resume(self) -> None:
        """Tell what a page above has done, and read again if it wrote or somebody else did."""
        for line in self.query(TopLine):  # a house that is not made yet has none
            line.call = self.desk.call_words()
        if news := self.desk.take_news():
            self.say(news)
        moved = self.FOLLOWS in AT_ONCE and self.seen_log != self.log_end
        if self.seen != self.desk.changes or moved:
            self.read_again()

    @property
    def log_end(self) -> str:
        """The end of the log as far as it matters to this page."""
        return self.desk.stands_at(booths=self.FOLLOWS is Follows.BOOTHS)

    def note_what_is_read(self) -> None:
        """Note of which state this page is read."""
        self.seen, self.seen_log = self.desk.changes, self.log_end

    def read_again(self) -> None:
        """Read anew, and note what of."""
        self.note_what_is_read()
        self.read()

    def follow(self, *, records: bool, others: bool) -> None:
        """Read again where what this page shows has changed, or say that it has."""
        if self.FOLLOWS is Follows.BOOTHS or (records and self.FOLLOWS is Follows.RECORDS):
            self.read_again()
        elif others and self.FOLLOWS is Follows.WHEN_ASKED:
            self.say(CHANGED)

    def read(self) -> object:
        """Start the job that fills this page."""
        return None

    def action_again(self) -> None:
        """Read anew."""
        self.read()

    def drawn_as(self) -> Drawn | None:
        """Return what the page's answer is drawn from; None where there is no picture of it."""
        return None

    def handed_on(self, reader: str) -> Handed | None:
        """Return a file's name and who makes its page, for a reader; None where there is none."""
        return None

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer a picture, or a page to hand on, only where there is one; else what can be now."""
        if action == "picture":
            return self.drawn_as() is not None
        if action == "write_page":
            return self.handed_on(str(parameters[0]) if parameters else "") is not None
        return self.can_now(action) and super().check_action(action, parameters)

    def can_now(self, action: str) -> bool:
        """Tell whether an action of the page's own can be done now."""
        return True

    def action_picture(self) -> None:
        """Show the answer as a picture."""
        drawn = self.drawn_as()
        if drawn is not None:
            named, draw = drawn
            self.app.push_screen(page_of("picture", self.PLACE, named, draw))

    def action_write_page(self, reader: str = "") -> None:
        """Write a page to hand on into a new file that only its owner can read."""
        handed = self.handed_on(reader)
        if handed is not None:
            self.say("Writing the page ...")
            self.write_page(*handed)

    @work(thread=True, exclusive=True, group="page", exit_on_error=False)
    def write_page(self, named: str, make: Callable[[Session], str]) -> None:
        """Make the page from the records and write it."""
        from panel.desk.handing import written

        self.hand_over(self.Written(*written(self.desk, named, make)))

    def on_page_written(self, message: Written) -> None:
        """Say where it is, or why it is not."""
        self.say(message.words, trouble=message.trouble)

    def action_back(self) -> None:
        """Go one step back; at the top say that this is the top."""
        if len(self.app.screen_stack) > 1:
            self.app.pop_screen()
        else:
            self.say("This is the top. A number goes to another place, ctrl+q leaves.")

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show a message in the line above the keys."""
        self.query_one(SayLine).say(message, trouble=trouble)

    def head(self, title: str | None = None, fact: str | None = None) -> None:
        """Change the heading."""
        hoop = self.query_one(Hoop)
        hoop.title = hoop.title if title is None else title
        hoop.fact = hoop.fact if fact is None else fact

    @contextmanager
    def reckoning(self) -> Iterator[None]:
        """Have a job tell how far its reckoning is, and end it once nobody waits for it."""
        from panel.questions.waiting import waited_for

        job = get_current_worker()

        def tell(step: Step) -> None:
            if not job.is_cancelled:
                self.post_message(self.HowFar(step.words))

        with waited_for(tell, lambda: job.is_cancelled):
            yield

    def on_page_how_far(self, message: HowFar) -> None:
        """Show how far a reckoning is."""
        self.how_far = f"{message.words}. Escape stops it."
        self.say(self.how_far)

    def hand_over(self, message: Message) -> None:
        """End a job with its one message, unless a newer job has taken its place."""
        if not get_current_worker().is_cancelled:
            self.post_message(message)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Say in words what a job ran into; one that is done is no longer told of."""
        if event.state is WorkerState.SUCCESS and self.query_one(SayLine).said == self.how_far:
            self.say("")
        if event.state is WorkerState.ERROR:
            self.say(in_words(event.worker.error), trouble=True)
            for table in self.query(BigTable):
                table.give_up()

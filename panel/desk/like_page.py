"""A target made from what a cask, a release or another target is like, note by note."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.deed_form import DeedForm
from panel.desk.entries import Field
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.page import Follows, Page
from panel.desk.slip import Confirm, ReadSlip
from panel.desk.ticks import TickTable
from panel.desk.typed import Entries, above_zero
from panel.figures import in_digits

if TYPE_CHECKING:
    from panel.records.targets import Likeness

STEP = 5.0
"""Points that one press moves an aim by."""


@dataclass(frozen=True)
class Source:
    """What a target is to be like: one of the three is named."""

    cask: str | None = None
    release: str | None = None
    target: str | None = None

    @property
    def words(self) -> str:
        """It, in words."""
        named = {"cask": self.cask, "release": self.release, "target": self.target}
        return next(f"{what} {name}" for what, name in named.items() if name is not None)


@dataclass(frozen=True)
class LikeRow:
    """One note: what was found, how far its aim was moved, and why it would be left out."""

    note: str
    found: float
    step: float = 0.0
    why: str = ""

    @property
    def aim(self) -> float:
        """What the target would ask for, on the line."""
        return min(max(self.found + self.step, 0.0), 100.0)


@dataclass(frozen=True)
class Wanted:
    """A target as it is asked for; `steps` by note, `only` empty where all usual notes are in."""

    source: Source
    steps: Mapping[str, float] = field(default_factory=dict)
    only: tuple[str, ...] = ()
    with_held: bool = False


COLUMNS: tuple[Column[LikeRow], ...] = (
    Column("Descriptor", 24, lambda r: r.note),
    Column("Found", 6, lambda r: f"{r.found:.0f}", lambda r: r.found, right=True),
    Column("Aim", 4, lambda r: f"{r.aim:.0f}", lambda r: r.aim, right=True),
    Column("Moved", 5, lambda r: f"{r.step:+.0f}" if r.step else "", right=True),
    Column("Left out unless ticked, as", 30, lambda r: r.why, stretch=True),
)


class LikeTable(TickTable["LikeRow"]):
    """Notes; those ticked become lines of the target."""

    BINDINGS: ClassVar[list[BindingType]] = [
        *sort_keys(COLUMNS),
        Binding("enter", "open", "Open", show=False, id="like.open"),
        Binding(
            *("plus,right,equals_sign", "screen.step(1)", "More"),
            key_display="+",
            id="like.more",
            tooltip="Five points more of this note",
        ),
        Binding(
            *("minus,left", "screen.step(-1)", "Less"),
            key_display="-",
            id="like.less",
            tooltip="Five points less of this note",
        ),
    ]


class LikePage(Page):
    """The notes that were found; which become lines, and with more or less of what."""

    PLACE = "targets"
    FOLLOWS = Follows.NOTHING
    BINDINGS: ClassVar[list[BindingType]] = [
        key("k", "keep", "Keep", "like.keep", "Name it and keep it as a target"),
    ]

    @dataclass
    class Read(Message):
        """What it is like is known."""

        like: Likeness

    @dataclass
    class Barred(Message):
        """It leaks, or lies otherwise so that it is not taken unasked."""

        why: str

    def __init__(self, source: Source) -> None:
        super().__init__()
        self.source = source
        self.with_held = False
        self.like: Likeness | None = None
        self.rows: dict[str, LikeRow] = {}

    def body(self) -> ComposeResult:
        """One table."""
        yield LikeTable(COLUMNS, name_of=lambda r: r.note, empty="Nothing is known of it.")

    def set_up(self) -> None:
        """Say like what."""
        super().set_up()
        self.head(f"A target like {self.source.words}")
        self.say("Reckoning over all sessions ...")

    @property
    def table(self) -> LikeTable:
        """The notes."""
        return self.query_one(LikeTable)

    @work(thread=True, exclusive=True, group="like", exit_on_error=False)
    def read(self) -> None:
        """Find what it is like."""
        from panel.errors import CaskBarred

        try:
            found = likeness_of(self, Wanted(self.source, with_held=self.with_held))
        except CaskBarred as barred:
            self.hand_over(self.Barred(str(barred)))
        else:
            self.hand_over(self.Read(found))

    def on_like_page_barred(self, message: Barred) -> None:
        """Ask whether it is wanted all the same."""

        def answered(agreed: bool | None) -> None:
            self.with_held = bool(agreed)
            if agreed:
                self.read()
            else:
                self.app.pop_screen()

        title = "Make it like this cask all the same?"
        self.app.push_screen(Confirm(title, [message.why]), answered)

    def on_like_page_read(self, message: Read) -> None:
        """Show the notes, those of the target ticked."""
        like = self.like = message.like
        taken = {note: LikeRow(note, aim) for note, aim in like.aims.items()}
        left = {
            each.descriptor: LikeRow(each.descriptor, each.aim, why=each.reason.value)
            for each in like.left_out
            if each.aim is not None
        }
        self.rows = {**taken, **{name: row for name, row in left.items() if name not in taken}}
        self.table.fill(self.rows.values())
        self.table.tick(taken.values())
        self.table.focus()
        self.count()
        self.say(f"As found in {like.source}. Space takes a note or leaves it, k keeps the target.")

    @on(TickTable.Ticked)
    def count(self) -> None:
        """Say in the heading how many lines it would have."""
        self.head(fact=f"{len(self.table.ticked)} of {len(self.rows)} notes")

    def action_step(self, direction: int) -> None:
        """Ask for more or less of the note."""
        row = self.table.current
        if row is None:
            return
        moved = replace(row, step=row.step + direction * STEP)
        if abs(moved.found + moved.step - moved.aim) < STEP:  # no further than to the end
            self.rows[row.note] = moved
            self.table.fill(self.rows.values())

    @on(BigTable.Opened)
    def tell(self) -> None:
        """Say what the keys do: a line has nothing behind it."""
        self.say("+ and - move its aim by five points, space takes it or leaves it, k keeps all.")

    def action_keep(self) -> None:
        """Ask for a name and a tolerance."""
        if self.like is None:
            self.say("One moment: it is still being reckoned.")
        elif not self.table.ticked:
            self.say("No note is ticked: a target has one line at least.", trouble=True)
        else:
            self.app.push_screen(page_of("keep like", self.wanted()))

    def wanted(self) -> Wanted:
        """Return the target as it stands on the page."""
        ticked = {str(name): row for name, row in self.table.ticked.items()}
        usual = set(self.like.aims) if self.like else set()
        only = () if set(ticked) == usual else tuple(name for name in self.rows if name in ticked)
        steps = {name: row.step for name, row in ticked.items() if row.step}
        return Wanted(self.source, steps, only, self.with_held)


def likeness_of(page: Page, wanted: Wanted) -> Likeness:
    """Return what is wanted, by the function that the command asks."""
    from panel.questions.target_making import likeness

    desk, today = page.desk, page.desk.today()
    with page.reckoning(), desk.store.read() as db:
        known = None if wanted.source.target else desk.known.of(db, as_of=today)
        return likeness(
            db,
            cask=wanted.source.cask,
            release=wanted.source.release,
            target=wanted.source.target,
            changes={note: (True, step) for note, step in wanted.steps.items()},
            only=wanted.only,
            with_held=wanted.with_held,
            as_of=today,
            profile=known,
        )


class KeepLikeForm(DeedForm):
    """Name and tolerance of a target that was made like something."""

    PLACE = "targets"
    TITLE_WORDS = "Keep as a target"
    FIELDS: ClassVar[tuple[Field, ...]] = (
        Field("name", "Target", "a name of its own"),
        Field("tolerance", "Tolerance", "points to either side; empty: as usual here"),
    )

    def __init__(self, wanted: Wanted) -> None:
        super().__init__()
        self.wanted = wanted
        self.made: list[str] = []

    def look(self, values: dict[str, str]) -> float | None:
        """Return the tolerance, None where it is as usual here."""
        typed = Entries(values)
        tolerance = typed.read("tolerance", above_zero, "points above zero, such as 8")
        typed.settle()
        return tolerance

    def do(self, values: dict[str, str]) -> str:
        """Write the target."""
        from panel.desk.acting import writing
        from panel.errors import EntriesAtFault, NotAllowed, OakpanelError
        from panel.records.targets import make_target
        from panel.words.target_words import made_lines

        like, name = likeness_of(self, self.wanted), values.get("name", "")
        changes = [f"{note}={in_digits(step, '+g')}" for note, step in self.wanted.steps.items()]
        try:
            with writing(self.desk.store) as db:
                target = make_target(
                    *(db, name, like),
                    tolerance=self.look(values),
                    only=self.wanted.only,
                    changes=changes,
                    now=self.desk.now(),
                    by=self.desk.by,
                )
                self.made = made_lines(name, len(target.lines), like)
        except NotAllowed:
            raise
        except OakpanelError as error:
            raise EntriesAtFault({"name": str(error)}) from error
        return f"Target {name} is made like {like.source}."

    def leave(self) -> None:
        """Go back to where it was asked for, and say what is not in it."""
        self.app.pop_screen()
        self.app.pop_screen()
        if len(self.made) > 1:
            self.app.push_screen(ReadSlip("The target is made", self.made))

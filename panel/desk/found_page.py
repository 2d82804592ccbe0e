"""What the panel found of a cask: each descriptor on its line, beside a cask or a target."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.columns import Column, fit
from panel.desk.drawn_list import DrawnList
from panel.desk.found_bands import two_bands
from panel.desk.found_lines import Band, Found, FoundDraw, draws_in, draws_of, target_draw
from panel.desk.held_later import later_here
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.pick import PickPage
from panel.desk.scale_line import ScaleLine
from panel.desk.slip import ReadSlip

if TYPE_CHECKING:
    from datetime import date

    from analysis.profile import Profile
    from panel.desk.page import Handed
    from panel.store.engine import Session

NAME_WIDTH = 19
RIGHT_WIDTH = 25
TARGET, CASK = "target", "cask"


@dataclass(frozen=True)
class Beside:
    """What a cask can be laid beside: another cask by the draw that stands for it, or a target."""

    kind: str
    name: str
    draw: FoundDraw

    @property
    def label(self) -> str:
        """Kind and name, which nothing else has."""
        return f"{self.kind} {self.name}"


BESIDE_COLUMNS: tuple[Column[Beside], ...] = (
    Column("What", 6, lambda b: b.kind),
    Column("Name", 24, lambda b: b.name),
    Column("Drawn on", 10, lambda b: b.draw.drawn_on),
    Column("Lines", 5, lambda b: str(len(b.draw.found)), lambda b: len(b.draw.found), right=True),
)


class FoundList(DrawnList[Found]):
    """A line a descriptor."""


class FoundPage(Page):
    """One draw of a cask; v turns to another draw, b lays it beside a cask or a target."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "casks"
    DEFAULT_CSS = """
    FoundPage #about { height: auto; max-height: 4; padding: 0 1; }
    FoundPage #sentence { height: 3; padding: 0 1; }
    FoundPage #key { height: auto; padding: 0 1; color: $secondary; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("b", "compare", "Beside", "found.compare", "Beside a cask, a target"),
        key("u", "alone", "Alone", "found.alone", "Nothing beside it any more"),
        key("v", "turn", "Other draw", "found.turn", "The draw before this one"),
        key("x", "write_page", "Hand on", "found.hand_on", "Write the cask's page into a file"),
    ]

    @dataclass
    class Read(Message):
        """The profile has been reckoned."""

        draws: list[FoundDraw]
        others: list[Beside]
        note: str
        why: str
        later: str

    def __init__(self, number: str, beside: str | None = None) -> None:
        super().__init__()
        self.number = number
        self.wanted = beside
        self.draws: list[FoundDraw] = []
        self.others: list[Beside] = []
        self.beside: Beside | None = None
        self.note = ""
        self.turned = 0

    def body(self) -> ComposeResult:
        """What is shown, the lines, their key, the line of the arrow in words."""
        yield Static(id="about")
        yield FoundList(self.draw, heading=self.heading)
        yield Static(Content(KEY), id="key")
        yield LateWords()
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"What the panel found in {self.number}")
        self.say("Reckoning over all sessions; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="found", exit_on_error=False)
    def read(self) -> None:
        """Reckon the profile, and read the targets."""
        from panel.questions.asked_profile import standing_samples
        from panel.questions.targets import target_records

        today = self.desk.today()
        with self.reckoning(), self.desk.store.read() as db:
            profile = self.desk.known.of(db, as_of=today)
            draws, why = self.found(db, profile, today)
            targets = target_records(db)
            standing = standing_samples(db, profile, as_of=today)
            later = later_here(db, today)
        others = [Beside(TARGET, target.name, target_draw(target)) for target in targets]
        others += [
            Beside(CASK, draw.cask, draw)
            for draw in draws_of(profile)
            if draw.sample in standing and draw.cask != self.number
        ]
        self.hand_over(self.Read(draws, others, profile.note or "", why, later))

    def found(self, db: Session, profile: Profile, today: date) -> tuple[list[FoundDraw], str]:
        """Return what was found or is foretold of the cask, or why there is nothing."""
        from panel.errors import UnknownRecord
        from panel.questions.asked_profile import asked_profile

        try:
            asked = asked_profile(db, [self.number], as_of=today, profile=profile)
        except UnknownRecord:
            return [], f"No revealed session has nosed {self.number} yet, and it is empty."
        return draws_in(asked.rows), ""

    def on_found_page_read(self, message: Read) -> None:
        """Show the newest draw."""
        self.draws, self.others, self.note = message.draws, message.others, message.note
        self.beside = next((one for one in self.others if one.label == self.wanted), None)
        self.turned = min(self.turned, max(len(self.draws) - 1, 0))
        self.show()
        self.say(message.why)
        self.query_one(LateWords).tell([message.later])

    @property
    def shown(self) -> FoundDraw | None:
        """The draw on the page."""
        return self.draws[self.turned] if self.draws else None

    def show(self) -> None:
        """Draw the page anew."""
        shown = self.shown
        self.head(fact=self.fact())
        self.query_one(FoundList).fill(shown.found if shown else [])
        self.query_one("#about", Static).update(Content(self.about()))
        self.refresh_bindings()

    def fact(self) -> str:
        """Return which draw is shown, or that nobody nosed it."""
        if self.shown is None:
            return "never nosed"
        if self.shown.foretold:
            return self.shown.unnosed
        return f"draw {self.turned + 1} of {len(self.draws)}"

    def about(self) -> str:
        """Return what is laid beside what."""
        if self.shown is None:
            return ""
        own = f"● {self.shown.about}"
        other = f"   ○ {self.beside.label}" if self.beside else ""
        return "\n".join(part for part in (own + other, self.note) if part)

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this cask; it is the same for every reader."""
        from panel.desk.handing import cask_page

        return cask_page(self.desk, self.number)

    def can_now(self, action: str) -> bool:
        """Offer only what can be done."""
        if action == "turn":
            return len(self.draws) > 1
        if action == "compare":
            return bool(self.draws and self.others)
        return action != "alone" or self.beside is not None

    def line(self, room: int) -> ScaleLine:
        """Return the line between name and figures."""
        return ScaleLine(max(room - NAME_WIDTH - RIGHT_WIDTH, 10))

    def heading(self, room: int) -> list[str]:
        """Return the axis between the headings of name and figures."""
        return [f"{fit('', NAME_WIDTH)}{self.line(room).axis()}   points scores nosed"]

    def draw(self, found: Found, room: int) -> str:
        """Draw one descriptor."""
        name = fit(found.descriptor, NAME_WIDTH - 1)
        width = self.line(room).width
        other = self.beside.draw.band(found.descriptor) if self.beside else None
        if found.band is None and other is None:
            return f"{name} {fit(found.reason, width + RIGHT_WIDTH)}"
        drawn = two_bands(self.line(room), found.band, other)
        points = found.band.words() if found.band else "-"
        return f"{name} {drawn}{points:>8}{found.n_scores:>6}  {found.last_nosed[2:]}"

    @on(DrawnList.Moved)
    def moved(self, event: DrawnList.Moved) -> None:
        """Say the line of the arrow in words."""
        self.query_one("#sentence", Static).update(Content(self.words(event.row)))

    @on(DrawnList.Opened)
    def open(self, event: DrawnList.Opened) -> None:
        """Show the line in words, whole."""
        from panel.words.answers import paragraph

        found: Found = event.row
        self.app.push_screen(ReadSlip(found.descriptor, paragraph(self.words(found), 70)))

    def words(self, found: Found) -> str:
        """Return one descriptor in words."""
        if found.band is None:
            return f"{found.descriptor}: {found.reason or 'not nosed'}."
        said = f"{found.descriptor}: {found.band.words()} points "
        if self.shown is not None and self.shown.foretold:
            said += "foretold from wood, fill, age and peat; nobody has nosed it."
        else:
            said += f"from {found.n_scores} scores, last nosed "
            said += f"{found.last_nosed or 'on a day not recorded'}."
        if found.reason:
            said += f" {found.reason}."
        return f"{said} {self.words_beside(found.descriptor, found.band)}".strip()

    def words_beside(self, descriptor: str, own: Band) -> str:
        """Return how the band lies to that of what stands beside."""
        if self.beside is None:
            return ""
        other = self.beside.draw.band(descriptor)
        if other is None:
            return f"{self.beside.label} says nothing of it."
        if self.beside.kind == TARGET:
            inside = abs(own.value - other.value) <= other.half
            where = "inside" if inside else "outside"
            return f"The target asks for {other.words()}: the middle lies {where}."
        meets = "the two bands meet" if own.meets(other) else "the two bands do not meet"
        return f"{self.beside.name}: {other.words()}; {meets}."

    # ---- steps

    def action_turn(self) -> None:
        """Go to the draw before, round the end."""
        self.turned = (self.turned + 1) % len(self.draws)
        self.show()

    def action_alone(self) -> None:
        """Take away what stands beside."""
        self.beside = None
        self.show()

    def action_compare(self) -> None:
        """Choose what to lay beside."""

        def take(names: tuple[str, ...] | None) -> None:
            if names:
                self.beside = next(one for one in self.others if one.label == names[0])
                self.show()

        page = PickPage(
            f"Beside {self.number}",
            self.others,
            BESIDE_COLUMNS,
            name_of=lambda beside: beside.label,
            place="casks",
            many=False,
        )
        self.app.push_screen(page, take)


KEY = "├─●─┤ this cask, ±2 standard errors   (·○·) beside it   ◂ ▸ off the line"

"""A cask's life on one page."""

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
from panel.desk.slip import ReadSlip
from panel.desk.taking_back import TakesBack
from panel.figures import in_digits, tenths
from panel.words.cask_words import age_words, figure_words, spirit_words, use_words

if TYPE_CHECKING:
    from panel.desk.page import Handed
    from panel.questions.cask_entries import LifeEntry
    from panel.questions.cask_life import CaskLife, FillingNow
    from panel.records.taking_back import LastAct
    from panel.store.filling_states import FillingState

COLUMNS: tuple[Column[LifeEntry], ...] = (
    Column("Date", 10, lambda e: e.happened_on.isoformat(), lambda e: e.happened_on),
    Column("What", 10, lambda e: e.kind),
    Column("In words", 30, lambda e: e.words, stretch=True),
    Column("Filling", 11, lambda e: e.filling),
)


def state_lines(life: CaskLife) -> list[str]:
    """Return what lies in the cask today, with the age of the figures."""
    first = f"{life.wood}, {in_digits(life.size_l, 'g')} L{'; ' + life.note if life.note else ''}"
    if life.today is None:
        return [first, "Empty." if life.fillings else "Never filled."]
    figures = [] if life.figures is None else [figure_words(life.figures)]
    return [first, *_today(life.today), *figures]


def _today(now: FillingNow) -> list[str]:
    state = now.state
    peat = "" if state.phenol_ppm is None else f", malt {in_digits(state.phenol_ppm, '.3g')} ppm"
    content = (
        f"{state.bulk_l:.0f} L at {tenths(state.abv)} % ({in_digits(state.lpa, '.1f')} L "
        f"pure), {_gauged(state)}"
    )
    place = state.place.words() or "place not recorded"
    return [
        f"{state.label}: {spirit_words(state)}{peat}, {age_words(state.age_years)}",
        content,
        f"{place}; {now.status}",
        use_words(now),
    ]


def _gauged(state: FillingState) -> str:
    if state.never_gauged:
        return f"as filled on {state.gauge.on}, never gauged since"
    return f"gauged {state.gauge.on}, {in_digits(state.gauge_age_years, '.1f')} years ago"


class LifeTable(BigTable["LifeEntry"]):
    """What happened, oldest first."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class CaskPage(TakesBack):
    """State today, what to look out for, and everything that happened."""

    PLACE = "casks"
    DEFAULT_CSS = """
    CaskPage #state { padding: 0 1; height: auto; }
    CaskPage #flags { padding: 0 1; height: auto; max-height: 6; color: $warning; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("u", "take_back", "Take back", "cask.take_back", "Take back what was written last"),
        key("d", "draw", "Draw", "cask.draw", "Write down a draw"),
        key("e", "event", "Event", "cask.event", "Write down what happened"),
        key("g", "regauge", "Regauge", "cask.regauge", "Write down a regauge"),
        key("i", "found", "Found", "cask.found", "What the panel found in it"),
        key("l", "glasses", "Lines", "cask.glasses", "Every glass of it as it was scored"),
        key("y", "years", "Years", "cask.years", "How it ages, when it is ready"),
        key("h", "hold", "Hold", "cask.hold", "Put it on hold, or lift the hold"),
        key("x", "write_page", "Hand on", "cask.hand_on", "Write a page of it into a file"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("cask.like", "A target like this cask", "like", "Take its notes as a target's lines"),
        Offer("cask.fill", "Fill it anew", "fill", "Write down what was filled into it"),
    )

    @dataclass
    class Read(Message):
        """The life has been read."""

        life: CaskLife
        last: LastAct | None

    def __init__(self, number: str) -> None:
        super().__init__()
        self.number = number
        self.life: CaskLife | None = None
        self.last: LastAct | None = None

    def body(self) -> ComposeResult:
        """State above, flags, then the entries."""
        yield Static(id="state")
        yield Static(id="flags")
        yield LifeTable(
            COLUMNS,
            name_of=lambda entry: entry,
            empty="Nothing is recorded of this cask yet: e writes down an event.",
        )

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of this cask."""
        from panel.desk.handing import cask_page

        return cask_page(self.desk, self.number)

    @work(thread=True, exclusive=True, group="cask", exit_on_error=False)
    def read(self) -> None:
        """Read everything about this cask."""
        from panel.questions.cask_life import cask_life
        from panel.records.taking_back import last_act

        with self.desk.store.read() as db:
            life = cask_life(db, self.number, self.desk.today())
            last = last_act(db, self.number, now=self.desk.now())
        self.hand_over(self.Read(life, last))

    def on_cask_page_read(self, message: Read) -> None:
        """Show it."""
        life = self.life = message.life
        self.last = message.last
        self.refresh_bindings()
        self.head(f"Cask {life.number}", f"as of {life.as_of}")
        self.query_one("#state", Static).update(Content("\n".join(state_lines(life))))
        flags = Content("\n".join(f"! {flag}" for flag in life.flags))
        self.query_one("#flags", Static).update(flags)
        self.query_one(LifeTable).fill(life.entries)

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show one entry in full."""
        entry: LifeEntry = event.row
        title = f"{entry.happened_on}  {entry.kind}"
        self.app.push_screen(ReadSlip(title, [f"Filling {entry.filling}", entry.words]))

    @property
    def filling(self) -> str:
        """The filling that lies in it today."""
        return self.life.today.state.label if self.life and self.life.today else ""

    def action_draw(self) -> None:
        """Open the form for a draw of this cask."""
        if self.filling:
            self.app.push_screen(page_of("draw", (self.number,)))
        else:
            self.say("Nothing lies in this cask today: there is nothing to draw.")

    def action_event(self) -> None:
        """Open the form for an event of this cask."""
        from panel.desk.cask_forms import event_form

        self.app.push_screen(event_form(self.filling))

    def action_regauge(self) -> None:
        """Open the form for a regauge of this cask."""
        from panel.desk.cask_forms import regauge_form

        self.app.push_screen(regauge_form(self.filling))

    def can_now(self, action: str) -> bool:
        """Only an empty cask is filled; only what was just written of this one is taken back."""
        if action == "take_back":
            return self.last is not None and super().can_now(action)
        if action == "fill":
            return self.life is not None and self.life.today is None
        return super().can_now(action)

    def action_fill(self) -> None:
        """Open the form for what is filled into an empty cask."""
        from panel.desk.new_cask import filled_anew

        if self.life is not None:
            self.app.push_screen(page_of("new cask", filled_anew(self.life)))

    def action_like(self) -> None:
        """Make a target of what the panel found in this cask."""
        from panel.desk.like_page import Source

        self.app.push_screen(page_of("like", Source(cask=self.number)))

    def action_found(self) -> None:
        """Show what the panel found."""
        self.app.push_screen(page_of("found", self.number))

    def action_glasses(self) -> None:
        """Show every glass of it over the years."""
        self.app.push_screen(page_of("cask glasses", self.number))

    def action_years(self) -> None:
        """Show how it ages, and when it meets a target."""
        self.app.push_screen(page_of("ageing", self.number))

    def action_hold(self) -> None:
        """Open the form that puts the filling on hold or lifts the hold."""
        if self.life is None or self.life.today is None:
            self.say("Nothing lies in this cask today: there is nothing to hold.")
        else:
            self.app.push_screen(page_of("hold", self.number, self.life.today.state))

    def action_take_back(self) -> None:
        """Take back what was written of this cask last."""
        if self.last is not None:
            self.reverse(self.number, self.last)

"""One session: how far it is, and every step the lead takes with it."""

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

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.glass_field import LEGEND, GlassField, in_words
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.kinds import AGREEMENT_PAGES
from panel.desk.not_at_best import TellsNotAtBest
from panel.desk.page import Follows
from panel.desk.session_steps import SessionSteps

if TYPE_CHECKING:
    from panel.desk.session_jobs import Told
    from panel.session.stages import RevealedRow

TICK_S = 15.0
KEY_COLUMNS: tuple[Column[RevealedRow], ...] = (
    Column("Code", 5, lambda r: r.code),
    Column("Draw", 24, lambda r: r.draw),
    Column("Kind", 9, lambda r: r.kind.replace("_", "-")),
    Column("Replicate", 9, lambda r: str(r.replicate), lambda r: r.replicate, right=True),
    Column("Filling", 14, lambda r: r.filling or ""),
    Column("Tray", 8, lambda r: r.tray or "all"),
)
STAGE_KEYS = {
    "replan": ("draft",),
    "drop": ("draft",),
    "seal": ("draft",),
    "sheets": ("sealed", "open", "closed"),
    "paper": ("sealed", "open"),
    "open": ("sealed",),
    "serve": ("open",),
    "close": ("open",),
    "reopen": ("closed",),
    "reveal": ("closed",),
    "agreement": ("closed", "revealed"),
    "glasses": ("closed", "revealed"),
    "private": ("open", "closed", "revealed"),
    "fates": ("closed", "revealed"),
    "seats": ("sealed", "open"),
    "mark": ("sealed", "open", "closed", "revealed"),
    "pack": ("sealed", "open"),
    "recall": ("sealed", "open", "closed"),
    "give_back": ("closed",),
    "turn": ("sealed", "open", "closed", "revealed"),
}


class KeyTable(BigTable["RevealedRow"]):
    """The key in the open, after the reveal."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(KEY_COLUMNS)


class SessionPage(SessionSteps, TellsNotAtBest):
    """Plan, field or key, by the stage of the session."""

    PLACE = "sessions"
    FOLLOWS = Follows.BOOTHS
    DEFAULT_CSS = """
    SessionPage #told { height: auto; max-height: 7; padding: 0 1; }
    SessionPage #chosen { height: auto; min-height: 1; padding: 0 1; color: $accent; }
    SessionPage #legend { height: auto; padding: 0 1; color: $foreground 75%; }
    SessionPage ContentSwitcher { height: 1fr; }
    SessionPage #field-view { height: 1fr; }
    SessionPage #plan-text { padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("m", "mark", "Mark", "session.mark", "Mark the chosen glass"),
        key("j", "replan", "Plan again", "session.replan", "Change the draft"),
        key("minus", "drop", "Drop", "session.drop", "Drop the draft"),
        key("s", "seal", "Seal", "session.seal", "Fix codes, orders and key"),
        key("p", "sheets", "Sheets", "session.sheets", "Pour sheet, tray labels"),
        key("o", "open", "Open", "session.open", "Let the booths in"),
        key("o", "serve", "Browsers", "session.serve", "Booths in browsers: start, address, code"),
        key("c", "close", "Close", "session.close", "End the scoring"),
        key("u", "reopen", "Open again", "session.reopen", "Let the booths back"),
        key("r", "reveal", "Reveal", "session.reveal", "Check and show the key"),
        key("i", "agreement", "Agreement", "session.agree", "Can it be trusted"),
        key("l", "glasses", "Lines", "session.glasses", "Every glass as it was scored"),
        key("v", "turn", "Other view", "session.turn", "Plan, glasses or key"),
    ]

    OFFERS: ClassVar[tuple[Offer, ...]] = (
        Offer("session.seats", "Who does not come, who comes late", "seats", "Blind as before"),
        Offer(
            "session.paper", "Paper that tells no key", "paper", "Ballots, labels, mats, draw list"
        ),
        Offer("session.key_in", "Ballots keyed in", "key_in", "Two files, kept where alike"),
        Offer("session.pack", "Seats to another site", "pack", "One file, without the key"),
        Offer("session.away", "At other sites", "away", "Who, until when, how much spirit"),
        Offer("session.recall", "Call back from a site", "recall", "Its return is refused then"),
        Offer("session.give_back", "Return it home", "give_back", "Where it came in a pack"),
        Offer("session.fates", "What became of its samples", "fates", "For the register"),
    )

    @dataclass
    class Read(Message):
        """What there is to tell has been read."""

        told: Told

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.view = ""

    @property
    def of_session(self) -> str:
        """The session."""
        return self.session_name

    def body(self) -> ComposeResult:
        """Facts above; plan, field or key below."""
        yield Static(id="told")
        with ContentSwitcher(initial=None):
            with VerticalScroll(id="plan"):
                yield Static(id="plan-text")
            with VerticalScroll(id="field-view", can_focus=False):
                yield GlassField(id="field")
                yield Static(id="chosen")
                yield Static(Content(LEGEND), id="legend")
            yield KeyTable(KEY_COLUMNS, name_of=lambda row: row, id="key")

    def set_up(self) -> None:
        """Say which session; the minutes of each seat go on by themselves."""
        super().set_up()
        self.head(f"Session {self.session_name}")
        self.set_interval(TICK_S, self.tick)

    def tick(self) -> None:
        """Tell the minutes anew."""
        self.query_one(GlassField).tell_minutes(self.desk.now())

    @work(thread=True, exclusive=True, group="session", exit_on_error=False)
    def read(self) -> None:
        """Read progress, facts, plan and (once revealed) the key."""
        from panel.desk.session_jobs import read_told

        with self.desk.store.read() as db:
            told = read_told(db, self.session_name, self.desk.by, self.desk.zone, self.told)
        self.hand_over(self.Read(told))

    def on_session_page_read(self, message: Read) -> None:
        """Show it; change the view only when the stage has changed."""
        told, before = message.told, self.told
        self.told = told
        self.head(f"Session {told.name}", f"{told.stage}, {told.fact}" if told.fact else told.stage)
        self.query_one("#told", Static).update(Content("\n".join(told.lines)))
        self.query_one("#plan-text", Static).update(Content("\n".join(told.plan)))
        self.query_one(GlassField).fill(told.progress, self.desk.now())
        if before is None or before.stage != told.stage:
            self.query_one(KeyTable).fill(told.key)
            self.show(told.views[0])
        self.refresh_bindings()

    def show(self, view: str) -> None:
        """Show one of plan, field-view and key."""
        self.view = view
        self.query_one(ContentSwitcher).current = view
        target = {"field-view": "#field", "plan": "#plan", "key": "#key"}[view]
        self.query_one(target).focus()

    def on_glass_field_moved(self) -> None:
        """Say the chosen glass in words."""
        chosen = self.query_one(GlassField).chosen
        words = ""
        if chosen is not None and self.told is not None:
            seat, glass = chosen
            faults = [
                f"{line.n_assessors} marked {line.fault}"
                for line in self.told.progress.faults
                if line.code == glass.code
            ]
            words = in_words(seat, glass, faults)
        self.query_one("#chosen", Static).update(Content(words))

    def can_now(self, action: str) -> bool:
        """Offer only what this stage allows."""
        if action not in STAGE_KEYS:
            return True
        if self.told is None or self.told.stage not in STAGE_KEYS[action]:
            return False
        return action != "mark" or self.view == "field-view"

    def action_turn(self) -> None:
        """Go to the next view of this stage."""
        if self.told is not None:
            views = self.told.views
            self.show(views[(views.index(self.view) + 1) % len(views)])

    @on(BigTable.Opened)
    def open_cask(self, event: BigTable.Opened) -> None:
        """Show the life of the cask behind a code of the open key."""
        if event.row.cask is None:
            self.say(f"{event.row.draw} is from no cask.")
        else:
            self.app.push_screen(page_of("cask", event.row.cask))

    def action_agreement(self) -> None:
        """Show how far the panel agreed."""
        if self.told is not None:
            self.app.push_screen(AGREEMENT_PAGES[self.told.kind](self.session_name))

    def action_glasses(self) -> None:
        """Show every glass as it was scored."""
        self.app.push_screen(page_of("session glasses", self.session_name))

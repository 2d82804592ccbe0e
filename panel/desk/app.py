"""The desk: opens at once, fetches the database behind the first picture, goes to a place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual import work
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.worker import Worker, WorkerState

from panel import look
from panel.clock import Clock, site_date, utc_now
from panel.desk import themes
from panel.desk.commands import SHOW_ALL, AllPage, show_all
from panel.desk.following import Following
from panel.desk.homes import HOMES, home, page_of, place_keys
from panel.desk.opening_page import OpeningPage
from panel.desk.page import in_words
from panel.desk.window import SayLine
from panel.errors import NoDatabase
from panel.figures import Hand, take_hand
from panel.questions.known_profile import KnownProfile

if TYPE_CHECKING:
    from datetime import date, datetime

    from textual.screen import Screen

    from panel.desk.beginning import Beginning
    from panel.desk.serving import Serving
    from panel.session.gate import Gate
    from panel.store.engine import Store

WARMED = (
    *("pandas", "panel.frames", "analysis.agreement.one_session.assess"),
    *("analysis.agreement.sessions.span", "analysis.profile.estimate", "analysis.ageing.on_day"),
    *("analysis.on_stock.matching", "panel.questions.matching", "panel.kept.searches"),
    *("panel.kept.stock", "panel.desk.target_page", "panel.questions.profile", "analysis.strength"),
)


class DeskApp(Following):
    """The panel lead's screens over one store."""

    TITLE = "Oakpanel desk"
    ENABLE_COMMAND_PALETTE = False
    """The list of all is a page of our own."""
    CSS_PATH = Path(__file__).with_name("desk.tcss")
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = {
        place: home(place) for place in HOMES
    }
    BINDINGS: ClassVar[list[BindingType]] = [
        *place_keys(),
        Binding(
            "full_stop,f3,ctrl+p",
            SHOW_ALL,
            "All",
            show=False,
            id="desk.all",
            tooltip="All that can be done on this page, to choose from",
        ),
        Binding(
            "question_mark,f1",
            "keys",
            "Keys",
            show=False,
            id="desk.keys",
            tooltip="What the keys of this page do",
        ),
        Binding(
            "f2",
            "turn_theme",
            "Light or dark",
            show=False,
            id="desk.theme",
            tooltip="Change between the light and the dark theme",
        ),
        Binding(
            "ctrl+q",
            "quit",
            "Leave",
            show=False,
            priority=True,
            id="desk.leave",
            tooltip="Close the desk; everything kept stays kept",
        ),
    ]

    @dataclass
    class Opened(Message):
        """The database is open; the gate says who may come in."""

        store: Store
        gate: Gate

    def __init__(
        self,
        store: Store | Callable[[], Store],
        *,
        by: str | None = None,
        clock: Clock = utc_now,
        start: str | None = None,
        begun: Beginning | None = None,
    ) -> None:
        super().__init__()
        self._source = store
        self.begun = begun
        self.demo_folder: Path | None = None
        self.led = False
        """Whether the first steps were shown already."""
        self.by = by
        self.signed_in = False
        self.clock = clock
        self.start_place = start if start in HOMES else "sessions"
        self.failure: BaseException | None = None
        self.zone = "UTC"
        self.hand = Hand()
        self.base = ""
        self.changes = 0
        self.known = KnownProfile()
        self.serving: Serving | None = None
        """The server of booths in browsers, if one was started here."""
        self.served_last: dict[str, str] = {}
        self._news = ""
        self._store: Store | None = None

    @property
    def store(self) -> Store:
        """The open database."""
        if self._store is None:
            raise RuntimeError("the database is not open yet")
        return self._store

    def now(self) -> datetime:
        """Return the present moment."""
        return self.clock()

    def today(self) -> date:
        """Return the date at the site."""
        return site_date(self.clock(), self.zone)

    def wrote(self, news: str) -> None:
        """Note that something was written: pages below read again and show *news*."""
        self.changes += 1
        self.wrote_at = self.now()
        self._news = news

    def take_news(self) -> str:
        """Return what is to be told, once."""
        news, self._news = self._news, ""
        return news

    def get_default_screen(self) -> Screen[Any]:
        """Show that the database is being opened."""
        return OpeningPage()

    def on_mount(self) -> None:
        """Take a theme; fetch the database once the first picture stands."""
        self.hand = take_hand()
        for theme in (themes.NIGHT, themes.DAY):
            self.register_theme(theme)
        self.theme = (themes.DAY if look.is_light() else themes.NIGHT).name
        self.call_after_refresh(self.open_up)

    @work(thread=True, exclusive=True, group="opening", exit_on_error=False)
    def open_up(self) -> None:
        """Open the database and see who may come in."""
        from panel.session.gate import read_gate

        store = self._source() if callable(self._source) else self._source
        self.post_message(self.Opened(store, read_gate(store, self.by, now=self.now())))

    def on_desk_app_opened(self, message: Opened) -> None:
        """Ask for a PIN where a lead has one, else go in."""
        self._store = message.store
        gate = message.gate
        self.zone, self.base, self._news = gate.zone, gate.base, gate.greeting
        self.hand.comma = gate.comma
        self.by = gate.by
        self.warm()
        if not gate.asks:
            self.come_in(self.by)
            return
        from panel.desk.sign_in import SignIn

        def known(code: str | None) -> None:
            self.signed_in = code in gate.with_pin
            self.come_in(code)

        self.push_screen(SignIn(gate), known)

    def come_in(self, code: str | None) -> None:
        """Go to the place that was asked for."""
        self.by = code
        self.call_later(self.switch_mode, self.start_place)
        self.drop_past()
        self.follow_log()

    @work(thread=True, exclusive=True, group="past", exit_on_error=False)
    def drop_past(self) -> None:
        """Drop what was kept for some time only and is past it."""
        from panel.records.retention import drop_what_is_past

        drop_what_is_past(self.store, now=self.now())

    def founded(self, store: Store, lead: str) -> None:
        """Take a database that was just made, and who leads it."""
        from panel.session.gate import read_gate

        gate = read_gate(store, lead, now=self.now())
        self._store, self.by = store, lead
        self.zone, self.base = gate.zone, gate.base
        self.hand.comma = gate.comma
        self.signed_in = lead in gate.with_pin

    async def move_in(self, then: str) -> None:
        """Go into a house that was just made: to its first steps, or to what brings files in."""
        self.warm()
        self.follow_log()
        self.led, news = True, self.take_news()
        await self.switch_mode("sessions")
        self._news = news  # told where somebody comes to stand, not on the way
        await self.push_screen(page_of("start"))
        if then == "files":
            await self.push_screen(page_of("folder"))

    def end_serving(self) -> None:
        """Stop the server of booths, if one runs."""
        if self.serving is not None:
            serving, self.serving = self.serving, None
            serving.end()

    def on_unmount(self) -> None:
        """The server of booths ends with the desk."""
        self.end_serving()

    async def action_quit(self) -> None:
        """Leave; where booths in browsers run, they are asked about first."""
        from panel.desk.slip import Confirm

        if self.serving is None or not self.serving.runs:
            self.exit()
            return

        def answered(agreed: bool | None) -> None:
            if agreed:
                self.exit()

        lines = ["Browsers hold what they cannot send until a server runs here again."]
        await self.push_screen(Confirm("Leave, and stop the booths in browsers?", lines), answered)

    def leave_for_demo(self, folder: Path) -> None:
        """End, so that the demo is built in a folder; whoever started the desk opens it there."""
        self.demo_folder = folder
        self.exit()

    @work(thread=True, exclusive=True, group="warming", exit_on_error=False)
    def warm(self) -> None:
        """Load what the figures need while nobody waits for it."""
        for module in WARMED:
            import_module(module)
        import_module("panel.kept.keys").program()

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """Where there is no database, offer to begin; where it cannot be opened, leave and say."""
        if event.state is not WorkerState.ERROR:
            return
        if event.worker.group == "opening":
            self.not_opened(event.worker.error)
        elif event.worker.group == "answer":
            self.tell(in_words(event.worker.error))

    def not_opened(self, error: BaseException | None) -> None:
        """Offer to begin where there is no database yet; else leave, and the command says why."""
        if self.begun is not None and isinstance(error, NoDatabase):
            from panel.desk.first_hour import FirstHourPage

            self.push_screen(FirstHourPage(self.begun))
        else:
            self.failure = error
            self.exit(return_code=1)

    def action_go(self, place: str) -> None:
        """Go to another place; each keeps the page it was left at."""
        if self.in_house:
            self.switch_mode(place)

    @property
    def in_house(self) -> bool:
        """Whether somebody has come in, so that there are places to go to."""
        return self._store is not None and self.current_mode in HOMES

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer places once there is a house with any."""
        if action == "go":
            return self.in_house
        return super().check_action(action, parameters)

    def action_show_all(self) -> None:
        """Show the list of all that can be done on this page."""
        if not isinstance(self.screen, AllPage):
            show_all(self)

    def action_help_quit(self) -> None:
        """Say how the desk is left: what ends other programs ends nothing here."""
        for line in self.screen.query(SayLine):
            line.say("ctrl+q leaves the desk.")

    def action_keys(self) -> None:
        """Show what the keys of this page do."""
        from panel.desk.key_slip import KeySlip

        if not isinstance(self.screen, KeySlip):
            self.push_screen(KeySlip(self.screen))

    def action_turn_theme(self) -> None:
        """Change between night and day, here and at the next start."""
        light = self.theme == themes.NIGHT.name
        self.theme = themes.DAY.name if light else themes.NIGHT.name
        look.keep_light(light)

    def _fatal_error(self) -> None:
        # The framework's page prints local variables, scores and the key among them perhaps.
        from rich.text import Text

        from panel.fault_log import told

        if self._exception is not None:
            self.panic(Text(f"The desk stopped. {told(self._exception)}"))

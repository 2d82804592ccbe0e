"""The list of sessions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.binding import BindingType
from textual.message import Message

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import Column
from panel.desk.homes import page_of
from panel.desk.keys import Offer, key
from panel.desk.kinds import AGREEMENT_PAGES
from panel.desk.list_page import ListPage
from panel.desk.page import Follows
from panel.figures import in_digits
from panel.kinds import USUAL_KIND, SessionKind, SessionStatus

if TYPE_CHECKING:
    from panel.session.listed import SessionLine

EMPTY = "No sessions yet: n plans the first one."
MISSING = "\nIt takes people, descriptors and draws; what is missing is told by the first steps:"


def empty_words(missing: Sequence[str]) -> str:
    """Return what an empty list says: how to begin, and what kinds of records are missing."""
    if not missing:
        return EMPTY
    return "\n".join([EMPTY + MISSING, *(f"    {kind}" for kind in missing)])


SPAN = 5
STAGES = tuple(stage.value for stage in SessionStatus)


def remarks(line: SessionLine) -> str:
    """Return what is out of the ordinary about a session."""
    said = (
        ("loaded", line.loaded),
        ("rehearsal", line.rehearsal),
        ("not blind", not line.blind),
        (line.kind.facts.remark, bool(line.kind.facts.remark)),
    )
    return ", ".join(words for words, true in said if true)


COLUMNS: tuple[Column[SessionLine], ...] = (
    Column("Name", 24, lambda s: s.name),
    Column("Held on", 10, lambda s: str(s.held_on or ""), lambda s: s.held_on),
    Column("Stage", 8, lambda s: s.status, lambda s: STAGES.index(s.status)),
    Column("Remarks", 16, remarks),
    Column("People", 7, lambda s: str(s.n_assessors), lambda s: s.n_assessors, right=True),
    Column("Glasses", 7, lambda s: str(s.n_glasses), lambda s: s.n_glasses, right=True),
    Column("Kept", 6, lambda s: in_digits(s.n_kept, ","), lambda s: s.n_kept, right=True),
)


class SessionTable(BigTable["SessionLine"]):
    """Sessions, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class SessionsPage(ListPage):
    """All sessions, the newest first; Enter goes to one."""

    PLACE = "sessions"
    FOLLOWS = Follows.BOOTHS
    TITLE_WORDS = "Sessions"
    FIND_HINT = "words of name, date, stage"
    OFFERS = (
        Offer("sessions.next", "What to nose next", "nose_next", "For a target, a release, a make"),
        Offer("sessions.power", "How much a question needs", "power", "Before anything is poured"),
        Offer("sessions.planted", "Planted in passing", "planted", "Known-sound spirit, spikes"),
        Offer("sessions.noses", "Passing over many mornings", "noses", "What noses catch, stop"),
        Offer("sessions.slips", "Do not empty", "slips", "What passing holds, by warehouse"),
        Offer("sessions.join", "Join what came back", "join", "The return from another site"),
        Offer("sessions.unpack", "Open a pack", "open_pack", "At another site, of the same house"),
        Offer("sessions.start", "First steps", "start", "Six steps of a new house, ticked as done"),
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        key("n", "new", "New", "sessions.new", "Plan a session"),
        key("b", "several", "Several", "sessions.several", "Some sessions together"),
        key("i", "agreement", "Agreement", "sessions.agreement", "Can it be trusted"),
        key("comma", "like_last", "Like last time", "sessions.like", "As the last one was"),
    ]

    @dataclass
    class Read(Message):
        """The list has been read."""

        lines: list[SessionLine]
        missing: tuple[str, ...]

    @dataclass
    class Alike(Message):
        """What the form holds for a session like the last one; nothing where there was none."""

        values: dict[str, str]
        session: str = ""

    def table(self) -> BigTable[SessionLine]:
        """Make the table of sessions."""
        return SessionTable(COLUMNS, name_of=lambda s: s.name, empty=EMPTY)

    @work(thread=True, exclusive=True, group="sessions", exit_on_error=False)
    def read(self) -> None:
        """Read all sessions."""
        from panel.questions.sessions import missing_to_plan
        from panel.session.listed import list_sessions

        with self.desk.store.read() as db:
            lines = list_sessions(db)
            missing = () if lines else missing_to_plan(db)
        self.hand_over(self.Read(lines, missing))

    def on_sessions_page_read(self, message: Read) -> None:
        """Show them, or what is missing to plan the first."""
        self.list.empty = empty_words(message.missing)
        self.fill(message.lines)
        if message.missing and not self.desk.led and self.is_current:
            self.action_start()

    def action_planted(self) -> None:
        """Show what is kept to be planted."""
        self.app.push_screen(page_of("planted"))

    def action_noses(self) -> None:
        """Show what many mornings of passing tell."""
        self.app.push_screen(page_of("noses"))

    def action_join(self) -> None:
        """Ask for the file that came back from another site."""
        self.app.push_screen(page_of("join"))

    def action_open_pack(self) -> None:
        """Ask for a pack that came to this site."""
        self.app.push_screen(page_of("open pack"))

    def action_slips(self) -> None:
        """Show what nobody may empty."""
        self.app.push_screen(page_of("slips"))

    def action_power(self) -> None:
        """Show how many people, samples and sessions a question needs."""
        self.app.push_screen(page_of("power"))

    def action_nose_next(self) -> None:
        """Ask what the next session is for."""
        self.app.push_screen(page_of("next choices"))

    def action_start(self) -> None:
        """Show the first steps."""
        self.desk.led = True
        self.app.push_screen(page_of("start"))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Go to one session."""
        self.app.push_screen(page_of("session", event.row.name))

    def action_new(self) -> None:
        """Open the form that plans a session."""
        self.app.push_screen(page_of("plan"))

    def action_like_last(self) -> None:
        """Plan as the last session of the kind at the arrow was; its draws are to be picked."""
        line = self.list.current
        self.look_back(USUAL_KIND if line is None else line.kind)

    @work(thread=True, exclusive=True, group="like", exit_on_error=False)
    def look_back(self, kind: SessionKind) -> None:
        """Read how the last one was planned."""
        from panel.desk.plan_entry import values_of
        from panel.session.last_time import like_last_time

        with self.desk.store.read() as db:
            last = like_last_time(db, kind, on=self.desk.today())
        told = self.Alike({}) if last is None else self.Alike(values_of(last.plan), last.session)
        self.hand_over(told)

    def on_sessions_page_alike(self, message: Alike) -> None:
        """Open the form filled so."""
        if message.values:
            said = f"As {message.session} was: give it a name and pick its draws."
            self.app.push_screen(page_of("plan", message.values, said))
        else:
            self.say("No session of this kind was held yet: n plans the first one.")

    def action_agreement(self) -> None:
        """Show how far the panel agreed in the session of the arrow."""
        line = self.list.current
        if line is not None:
            self.app.push_screen(AGREEMENT_PAGES[line.kind](line.name))

    def action_several(self) -> None:
        """Choose sessions to look at together; the last five up to the arrow are ticked."""
        from panel.desk.pick import PickPage

        lines = [line for line in self.list.rows if finished(line)]
        if not lines:
            self.say("No session is closed yet.")
            return
        page = PickPage(
            "Which sessions together?",
            lines,
            COLUMNS,
            name_of=lambda line: line.name,
            place="sessions",
            many=True,
            ticked=last_five(lines, self.list.current),
        )
        self.app.push_screen(page, self.show_span)

    def show_span(self, names: tuple[str, ...] | None) -> None:
        """Go to the sessions chosen."""
        if names:
            self.app.push_screen(page_of("span", names))


def finished(line: SessionLine) -> bool:
    """Tell whether a session can be judged beside others."""
    return line.status in {"closed", "revealed"} and line.kind.facts.pooled


def last_five(lines: Sequence[SessionLine], current: SessionLine | None) -> list[str]:
    """Return the last five sessions held up to the one of the arrow."""
    until = current.held_on if current is not None else None
    dated = sorted(lines, key=lambda line: (line.held_on or date.min, line.name), reverse=True)
    held = [line for line in dated if until is None or (line.held_on or date.min) <= until]
    return [line.name for line in held[:SPAN]]

"""The glass in hand while it is traced: one key at each second, kept with the second it came at."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import Static

from panel.booth.glass import StandingCode
from panel.booth.keys import SEAT_KEYS, TRACE_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.seat import traces_said
from panel.seat.jobs import Job, KeepPrompt, PutDown
from panel.session.traces import answers_of, next_prompt, second_asked, since_sip_s
from panel.store.booth_tray import Glass

TICK_S = 0.2
"""So often it is looked whether the next second is there; keys go by their own moment."""


class TraceScreen(SeatedScreen, inherit_bindings=False):
    """One key answers the second that is asked for; the clock begins with the first answer."""

    DEFAULT_CSS = """
    TraceScreen #head { height: 3; margin: 1 1; }
    TraceScreen.-tall #head { height: 6; margin: 1 2; }
    TraceScreen #facts { width: 1fr; height: auto; }
    TraceScreen Vertical { align: center middle; height: 1fr; }
    TraceScreen Vertical Static { width: 100%; text-align: center; height: auto; padding: 0 1; }
    TraceScreen #asked { text-style: bold; color: $accent; margin: 1 0; }
    TraceScreen #how, TraceScreen #given { color: $secondary; }
    TraceScreen.-tall StandingCode { width: 40; height: 6; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [*TRACE_KEYS, *SEAT_KEYS]

    def __init__(self, glass: Glass, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
        self.glass: Glass = glass
        self.standing = StandingCode()
        self.facts = Static(id="facts", markup=False)
        self.doing = Static(id="doing", markup=False)
        self.asked = Static(id="asked", markup=False)
        self.given = Static(id="given", markup=False)
        self.how = Static(f"{traces_said.HOW} {traces_said.FREE}", id="how", markup=False)
        self._began: float | None = None
        self._sure = self._going = False

    def compose(self) -> ComposeResult:
        """Lay out the code, what is asked now, what was given, and how it goes."""
        yield self.top
        with Horizontal(id="head"):
            yield self.standing
            yield self.facts
        with Vertical():
            yield self.doing
            yield self.asked
            yield self.given
            yield self.how
        yield self.say_line
        yield KeyStrip()

    def on_mount(self) -> None:
        """Go on with a minute that had begun before this screen; the class above does the rest."""
        since = since_sip_s(self.glass, self.booth.clock())
        self._began = None if since is None else self.booth.records.seconds() - since
        self.set_interval(TICK_S, self._show_moment)

    @property
    def seconds(self) -> float | None:
        """The seconds since the sip, None before it."""
        return None if self._began is None else self.booth.records.seconds() - self._began

    def show_tray(self) -> None:
        """Show the newest facts about this glass."""
        super().show_tray()
        found = [g for g in self.tray.glasses if g.serving_id == self.glass.serving_id]
        self.glass = found[0] if found else self.glass
        self.standing.code = self.glass.code
        facts = (traces_said.place_words(self.tray, self.glass), traces_said.meaning(self.tray))
        ends = traces_said.ends_words(self.tray)
        self.facts.update("\n".join(filter(None, (*facts, ends))))
        self._show_moment()

    def _answered(self) -> dict[int, tuple[int, float | None]]:
        """Return what was answered: on disk, or on its way there."""
        on_the_way = {
            job.number: (job.value, job.at_s)
            for job in self.booth.keeper.under_way()
            if isinstance(job, KeepPrompt) and job.serving_id == self.glass.serving_id
        }
        return {**answers_of(self.tray, self.glass), **on_the_way}

    def _show_moment(self) -> None:
        """Show what is asked for at this second."""
        if not self.is_attached:
            return
        answered, seconds = self._answered(), self.seconds
        number = next_prompt(self.tray, answered)
        self.given.update(traces_said.given_words(self.tray, answered))
        clock = "" if seconds is None else f"{seconds:.0f} s.  {traces_said.deed_words(seconds)}"
        self.doing.update(traces_said.OVER if number is None else clock)
        due = number is not None and (seconds or 0.0) >= second_asked(self.tray, number)
        self.asked.update(traces_said.asked(self.tray, number) if due and number else " ")

    def action_digit(self, digit: str) -> None:
        """Keep how much there is, with the second of this key."""
        answered, seconds = self._answered(), self.seconds
        number = next_prompt(self.tray, answered)
        if number is None or self._going:
            return
        if seconds is None:
            self._began, seconds = self.booth.records.seconds(), 0.0
        if seconds < second_asked(self.tray, number):
            self.say(traces_said.until_words(self.tray, number), trouble=True)
            return
        self._sure = False
        self.booth.keep(KeepPrompt(self.glass.serving_id, number, int(digit), seconds))
        self.say("")
        if traces_said.ends_with(self.tray, number):
            self._put_down()
        self._show_moment()

    def action_put_down(self) -> None:
        """Put the glass down; one whose minute is not whole only on a second key."""
        if not self._sure and not traces_said.is_over(self.tray, self.glass):
            self._sure = True
            asked = traces_said.before_putting_down(self.tray, self.glass)
            self.say(f"{asked} p again does it.", trouble=True)
        elif self.booth.keeper.trouble is not None:
            self.say("Not everything is kept yet. Press r to try again first.", trouble=True)
        else:
            self._put_down()

    def _put_down(self) -> None:
        if not self._going:
            self._going = True
            self.booth.keep(PutDown(self.glass.serving_id))

    def not_kept(self, job: Job, why: str) -> None:
        """Let the glass be put down once what failed is kept."""
        self._going = False
        super().not_kept(job, why)
        self._show_moment()

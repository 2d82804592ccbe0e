"""What every screen of a signed-in assessor can do: call, own mark, try again, leave."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.binding import BindingType
from textual.screen import Screen

from panel.booth.dialogs import Choose, Tell, WriteNote
from panel.booth.keys import SEAT_KEYS
from panel.booth.window import SayLine, TopLine
from panel.seat import care, said
from panel.seat.jobs import CallLead, Job, KeepNote, OwnMark
from panel.store.word_text import LONGEST_NOTE

if TYPE_CHECKING:
    from panel.booth.app import BoothApp
    from panel.store.booth_tray import Glass, Tray


class SeatedScreen(Screen[None]):
    """A screen in front of an assessor whose tray is known."""

    BINDINGS: ClassVar[list[BindingType]] = SEAT_KEYS
    AUTO_FOCUS = None
    ready = False
    glass: Glass | None = None
    """The glass in hand, on a screen that is about one."""

    def __init__(self, words: str = "", *, trouble: bool = False) -> None:
        super().__init__()
        self.said = words
        self.said_as_trouble = trouble
        self._refused_after: tuple[Job, ...] = ()
        self.top = TopLine()
        self.say_line = SayLine()

    @property
    def booth(self) -> BoothApp:
        """Return the app, which holds seat, tray and queue."""
        return cast("BoothApp", self.app)

    @property
    def tray(self) -> Tray:
        """Return the newest tray."""
        return self.booth.tray_now

    @property
    def glass_shown(self) -> Glass | None:
        """Return the glass in hand that this screen shows."""
        return self.glass

    @property
    def serving_in_hand(self) -> int | None:
        """Return the glass this screen is about."""
        return self.glass.serving_id if self.glass else None

    def action_note(self) -> None:
        """Write a note about the glass in hand."""
        glass = self.glass
        if glass is None:
            return

        def written(text: str | None) -> None:
            if text is not None:
                self.booth.keep(KeepNote(glass.serving_id, text))

        self.app.push_screen(WriteNote(glass.code, glass.note, LONGEST_NOTE), written)

    def on_mount(self) -> None:
        """Fill in what the records say; keys count from then on."""
        self.show_tray()
        self.say(self.said, trouble=self.said_as_trouble)
        self.ready = True

    def on_unmount(self) -> None:
        """Take no more keys."""
        self.ready = False

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Let a key that comes before the screen is laid out, or after it, go nowhere."""
        if action == "own_words" and (not self.ready or self.tray.own is None):
            return False
        return True if self.ready else None

    def show_tray(self) -> None:
        """Show what the newest tray says."""
        waiting = said.lead_called(self.tray)
        self.top.place = f"Oakpanel booth  {self.tray.session}  {waiting}".rstrip()
        self.top.whose = self.booth.whose

    def say(self, message: str, *, trouble: bool = False) -> None:
        """Show one message."""
        self._refused_after = ()
        self.say_line.say(message, trouble=trouble)

    def refuse(self, message: str) -> None:
        """Say why a key does nothing; what was on its way before does not cover that, once kept."""
        self.say(message, trouble=True)
        self._refused_after = tuple(self.booth.keeper.under_way())

    def kept(self, job: Job, at: str) -> None:
        """Show that a job is on disk; the newest tray is there."""
        self.show_tray()
        words = said.kept_words(job, self.tray, at)
        if words and not any(job is earlier for earlier in self._refused_after):
            self.say(words)
        self.end_trying()

    def end_trying(self) -> None:
        """Say how trying again ended, once nothing waits any more."""
        if self.say_line.said == said.TRYING and self.booth.keeper.idle:
            self.say(said.ALL_KEPT)

    def not_kept(self, job: Job, why: str) -> None:
        """Show that a job is not on disk, and why."""
        self.show_tray()
        self.say(why, trouble=True)

    def action_call(self) -> None:
        """Ask why, then call the lead."""

        def called(chosen: frozenset[int] | None) -> None:
            for row in chosen or ():
                self.booth.keep(CallLead(said.CALLS[row], self.serving_in_hand))

        self.app.push_screen(Choose(said.CALL, said.CALLS), called)

    def action_care(self) -> None:
        """Say what to do where a glass is not safe, and call the lead; or somebody unwell."""

        def chosen(rows: frozenset[int] | None) -> None:
            for row in rows or ():
                wrong = tuple(care.CARES)[row]
                ways = care.ways_to_mean(self.tray)
                if wrong is care.Wrong.UNWELL or len(ways) == 1:
                    self._cared(wrong, ways[0])
                else:
                    self._ask_which(wrong, ways)

        self.app.push_screen(Choose(care.ASKED, care.OFFERED), chosen)

    def _ask_which(self, wrong: care.Wrong, ways: tuple[care.Meant, ...]) -> None:
        def named(rows: frozenset[int] | None) -> None:
            meant = ways[min(rows)] if rows else care.unsure(ways)
            self._cared(wrong, meant)

        which = Choose(care.WHICH_GLASS, tuple(way.words for way in ways))
        self.app.push_screen(which, named)

    def _cared(self, wrong: care.Wrong, meant: care.Meant) -> None:
        for job in care.jobs_of(wrong, [glass.serving_id for glass in meant.glasses]):
            self.booth.keep(job)
        self.app.push_screen(Tell(care.CARES[wrong].told))

    def action_own_mark(self) -> None:
        """Set or take off the own mark; no cause is asked."""
        asked = Choose(said.own_mark_asked(self.tray), said.OWN_MARK)
        self.app.push_screen(asked, self._own_marked)

    def _own_marked(self, chosen: frozenset[int] | None) -> None:
        if not chosen:
            return
        (row,) = chosen
        self.booth.keep(OwnMark(row < 2))
        if row == 1:
            self.booth.keep(CallLead("other"))

    def action_own_words(self) -> None:
        """Show the assessor's own words; what is under way is kept first."""
        self.booth.show_words()

    def action_try_again(self) -> None:
        """Keep what is not kept yet, and look again."""
        self.say(said.TRYING)
        self.booth.try_again()

    def action_leave(self) -> None:
        """Leave the booth; the next sign-in finds all that is kept."""
        self.booth.leave()

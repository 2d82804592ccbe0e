"""The glass in hand: its code, its lines, its marks."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from panel.block_signs import large, small
from panel.booth.between import LOOK_S
from panel.booth.dialogs import Ask, Choose
from panel.booth.keys import GLASS_KEYS, LINE_KEYS, OWN_WORD_KEYS, SEAT_KEYS
from panel.booth.line_scale import LineScale, ScaleEnds
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.seat import said
from panel.seat.jobs import Job, KeepScores, MarkFault, PutDown
from panel.seat.said import FAULTS
from panel.store.booth_tray import Glass

LONGEST_NAME = 22


class StandingCode(Widget):
    """The code of the glass in hand, small where the terminal is low."""

    DEFAULT_CSS = """
    StandingCode { width: 22; height: 3; color: $primary; }
    """
    code: reactive[str] = reactive("")

    def render(self) -> Content:
        """Draw the digits in the rows there are."""
        drawn = large if self.size.height >= 6 else small
        return Content("\n".join(drawn(self.code)))


class GlassScreen(SeatedScreen, inherit_bindings=False):
    """All lines of one glass; each change is on disk before it is called kept."""

    DEFAULT_CSS = """
    GlassScreen #head { height: 3; margin: 1 1; }
    GlassScreen.-tall #head { height: 6; margin: 1 2; }
    GlassScreen #facts { width: 1fr; height: auto; }
    GlassScreen #lines {
        width: 100%; height: 1fr; scrollbar-size-vertical: 1; scrollbar-gutter: stable;
    }
    GlassScreen #meaning { height: 1; padding: 0 1; color: $secondary; }
    GlassScreen.-tall StandingCode { width: 40; height: 6; }
    GlassScreen.-tall LineScale { height: 2; }
    GlassScreen.-tall #meaning { height: 2; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        *(*LINE_KEYS, *GLASS_KEYS, *OWN_WORD_KEYS, *SEAT_KEYS),
    ]

    def __init__(self, glass: Glass, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
        self.glass: Glass = glass
        self.zeroed: frozenset[int] = frozenset()
        self.at = 0
        self.standing = StandingCode()
        self.facts = Static(id="facts", markup=False)
        self.meaning = Static(id="meaning", markup=False)
        self.ends = ScaleEnds()
        self._going = False

    def compose(self) -> ComposeResult:
        """Lay out the code, the facts, the lines and the message."""
        name_cells = min(max((len(x.name) for x in self.tray.lines), default=8), LONGEST_NAME)
        self.ends.name_cells = name_cells
        yield self.top
        with Horizontal(id="head"):
            yield self.standing
            yield self.facts
        yield self.meaning
        yield self.ends
        with VerticalScroll(id="lines", can_focus=False):
            for line in self.tray.lines:
                yield LineScale(line, name_cells, self._line_changed, self._line_touched)
        yield self.say_line
        yield KeyStrip()

    def on_mount(self) -> None:
        """Show what is kept already; go to the first blank line. The class above does the rest."""
        self.standing.code = self.glass.code
        self.set_interval(LOOK_S, self.booth.look_again)  # it may be stopped by somebody else
        unsaved = self.booth.keeper.unsaved().get(self.glass.serving_id, {})
        for scale in self.scales:
            self._show_kept_line(scale)
            if scale.line.version_id in unsaved:
                scale.value = unsaved[scale.line.version_id]
                scale.show_failed()
        blank = [i for i, scale in enumerate(self.scales) if scale.value is None]
        self._go_to(blank[0] if blank else 0)

    def _show_kept_line(self, scale: LineScale) -> None:
        kept = self.glass.scores.get(scale.line.version_id)
        # What was written past the program and is no number on the line counts as blank.
        if kept is not None and scale.line.low <= kept.value <= scale.line.high:
            scale.value = round(kept.value)
            scale.show_kept(scale.value, self.booth.hour(kept.given_at, seconds=True))

    @property
    def scales(self) -> list[LineScale]:
        """Return the lines from top to bottom."""
        return list(self.query(LineScale))

    def show_tray(self) -> None:
        """Show the newest facts about this glass."""
        super().show_tray()
        found = [g for g in self.tray.glasses if g.serving_id == self.glass.serving_id]
        self.glass = found[0] if found else self.glass
        self.facts.update("\n".join(self._facts()))

    def _facts(self) -> tuple[str, str, str]:
        scored = sum(scale.value is not None for scale in self.scales)
        return said.glass_facts(self.tray, self.glass, scored=scored)

    def _go_to(self, row: int) -> None:
        """Take a line in hand: its meaning and its end words stand by it."""
        self.at = row
        for i, scale in enumerate(self.scales):
            scale.in_hand = i == row
            if i == row:
                scale.scroll_visible(animate=False)
                line = scale.line
                self.ends.line = line
                words = f"{line.name}: {line.meaning or line.stage}"
                self.meaning.update(words)

    def _line_changed(self, scale: LineScale) -> None:
        """Have the change saved, soon and in order."""
        values = {scale.line.version_id: scale.value}
        self.booth.keep_soon(KeepScores(self.glass.serving_id, values))
        self.facts.update("\n".join(self._facts()))

    def _line_touched(self, scale: LineScale) -> None:
        self.booth.start_keeping()
        self._go_to(self.scales.index(scale))

    def action_move(self, step: int) -> None:
        """Move the mark of the line in hand."""
        self.scales[self.at].move(step)

    def action_digit(self, digit: str) -> None:
        """Type the value of the line in hand."""
        fault = self.scales[self.at].type_digit(digit)
        words = f"{fault} For another glass, put this one down first (p)." if fault else ""
        self.say(words, trouble=bool(fault))

    def action_blank(self) -> None:
        """Make the line in hand blank again."""
        self.scales[self.at].blank()

    def action_back_digit(self) -> None:
        """Take the last digit of the line in hand away."""
        self.scales[self.at].back_digit()
        self.say("")

    def action_line(self, step: int) -> None:
        """Go up or down; what was left is saved now."""
        self.booth.start_keeping()
        if 0 <= self.at + step < len(self.scales):
            self.say("")
            self._go_to(self.at + step)

    def action_onward(self) -> None:
        """Go to the next line; after the last to the first blank one."""
        if self.at + 1 < len(self.scales):
            self.action_line(1)
            return
        self.booth.start_keeping()
        blank = [i for i, scale in enumerate(self.scales) if scale.value is None]
        if not blank:
            self.say("Every line is scored. p puts the glass down.")
            return
        self._go_to(blank[0])
        self.say(
            f"{said.lines_are(len(blank))} still blank; this is the first. "
            "n: none of the rest. p: put the glass down."
        )

    def kept(self, job: Job, at: str) -> None:
        """Show as kept what is on disk, and only that."""
        if isinstance(job, KeepScores):
            for scale in self.scales:
                if scale.line.version_id in job.values:
                    scale.show_kept(job.values[scale.line.version_id], at)
        super().kept(job, at)

    def not_kept(self, job: Job, why: str) -> None:
        """Mark what is not on disk; it stays on the screen."""
        self._let_go(False)
        unsaved = self.booth.keeper.unsaved().get(self.glass.serving_id, {})
        for scale in self.scales:
            if scale.line.version_id in unsaved:
                scale.show_failed()
        super().not_kept(job, why)

    def _let_go(self, going: bool) -> None:
        self._going = going
        for scale in self.scales:
            scale.locked = going

    def action_put_down(self) -> None:
        """Finish the glass; blank lines are asked about once."""
        if self.booth.keeper.trouble is not None:
            self.say("Not everything is kept yet. Press r to try again first.", trouble=True)
            return
        blank = [scale.line.name for scale in self.scales if scale.value is None]
        question = said.before_putting_down(self.tray, self.glass.code, blank)
        if question:
            self.app.push_screen(Ask(question), self._put_down)
        else:
            self._put_down(True)

    def _put_down(self, yes: bool | None) -> None:
        if yes and not self._going:
            self._let_go(True)
            self.booth.keep(PutDown(self.glass.serving_id))

    def action_none_of_the_rest(self) -> None:
        """Set zeros on purpose for the lines still blank, after asking."""
        blank = [scale for scale in self.scales if scale.value is None]
        if not blank:
            self.say("No line is blank.")
            return
        words = said.zeros_asked([scale.line for scale in blank])
        self.app.push_screen(Ask(words), self._set_zeros)

    def _set_zeros(self, yes: bool | None) -> None:
        if not yes:
            return
        blank = [scale for scale in self.scales if scale.value is None]
        self.zeroed = frozenset(scale.line.version_id for scale in blank)
        for scale in blank:
            scale.change(scale.line.low)
        self.booth.start_keeping()
        self.refresh_bindings()
        self.say(f"{said.zeros_set(len(blank))} u takes that back.")

    def action_take_back_zeros(self) -> None:
        """Make blank again what 'none of the rest' set, where it is still zero."""
        zeros = [
            s for s in self.scales if s.line.version_id in self.zeroed and s.value == s.line.low
        ]
        self.zeroed = frozenset()
        self.refresh_bindings()
        for scale in zeros:
            scale.change(None)
        self.booth.start_keeping()
        self.say(said.blank_again(len(zeros)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer what there is something to do with: zeros to take back, a line to set."""
        if action == "take_back_zeros" and not self.zeroed:
            return False
        if action in ("move", "digit", "blank", "back_digit") and not self.scales:
            return None
        return super().check_action(action, parameters)

    def action_faults(self) -> None:
        """Mark faults by their numbers."""
        ticked = [row for row, fault in enumerate(FAULTS) if fault in self.glass.faults]
        words = said.faults_asked(self.glass.code)
        self.app.push_screen(Choose(words, FAULTS, ticked=ticked, several=True), self._mark)

    def _mark(self, chosen: frozenset[int] | None) -> None:
        if chosen is None:
            return
        wanted = {FAULTS[row] for row in chosen}
        for fault in FAULTS:
            if (fault in wanted) != (fault in self.glass.faults):
                self.booth.keep(MarkFault(self.glass.serving_id, fault, fault in wanted))

    def action_back(self) -> None:
        """Say how to go back."""
        if self.tray.may_go_back:
            self.say("Put this glass down first (p); then type the code of the one to go back to.")
        else:
            self.say(said.NO_GOING_BACK)

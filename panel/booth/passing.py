"""The glass in hand of a passing session: pass it, or name the fault and hold it."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from panel.booth.glass import StandingCode
from panel.booth.keys import PASS_KEYS, SEAT_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.seat import passing, said
from panel.seat.jobs import Job, MarkFault, PutDown
from panel.store.booth_tray import Glass


class PassScreen(SeatedScreen, inherit_bindings=False):
    """One key passes; a number names a fault, and Enter holds. There is no clock."""

    DEFAULT_CSS = """
    PassScreen #head { height: 3; margin: 1 1; }
    PassScreen.-tall #head { height: 6; margin: 1 2; }
    PassScreen #facts { width: 1fr; height: auto; }
    PassScreen #asked, PassScreen #told { height: auto; padding: 0 1; }
    PassScreen #told { color: $secondary; margin-top: 1; }
    PassScreen #faults { height: auto; padding: 0 1; margin-top: 1; }
    PassScreen VerticalScroll { height: 1fr; }
    PassScreen.-tall StandingCode { width: 40; height: 6; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [*PASS_KEYS, *SEAT_KEYS]

    def __init__(self, glass: Glass, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
        self.glass: Glass = glass
        self.marked = frozenset(glass.faults)
        self.standing = StandingCode()
        self.facts = Static(id="facts", markup=False)
        self.faults = Static(id="faults", markup=False)
        self.told = Static(id="told", markup=False)
        self._going = False

    def compose(self) -> ComposeResult:
        """Lay out the code, what is asked, the faults by number and what was told."""
        yield self.top
        with Horizontal(id="head"):
            yield self.standing
            yield self.facts
        with VerticalScroll(can_focus=False):
            yield Static(passing.ASKED, id="asked", markup=False)
            yield self.faults
            yield self.told
        yield self.say_line
        yield KeyStrip()

    def show_tray(self) -> None:
        """Show the newest facts about this glass; marks on their way count already."""
        super().show_tray()
        found = [g for g in self.tray.glasses if g.serving_id == self.glass.serving_id]
        self.glass = found[0] if found else self.glass
        if not any(isinstance(job, MarkFault) for job in self.booth.keeper.under_way()):
            self.marked = frozenset(self.glass.faults)
        self.standing.code = self.glass.code
        self.facts.update("\n".join(passing.passing_facts(self.tray, self.glass)))
        self.told.update(self.tray.told)
        self._show_faults()

    def _show_faults(self) -> None:
        rows = [
            Content.assemble(
                (f"  {number} ", "bold $accent"),
                (f"[{'x' if fault in self.marked else ' '}] ", ""),
                (fault, "bold" if fault in self.marked else ""),
            )
            for number, fault in enumerate(passing.FAULTS, start=1)
        ]
        self.faults.update(Content("\n").join(rows))

    def action_name_fault(self, number: int) -> None:
        """Name a fault, or take it back."""
        if self._going:
            return
        fault = passing.FAULTS[number - 1]
        on = fault not in self.marked
        self.marked = self.marked | {fault} if on else self.marked - {fault}
        self._show_faults()
        self.booth.keep(MarkFault(self.glass.serving_id, fault, on))

    def action_pass_it(self) -> None:
        """Pass the glass, where no fault is named."""
        if self.marked:
            self.refuse(passing.still_marked(self.glass.code, self.marked))
        else:
            self._put_down()

    def action_hold_it(self) -> None:
        """Hold the glass, once a fault is named."""
        if self.marked:
            self._put_down()
        else:
            self.refuse(f"{passing.NAME_IT} p passes it.")

    def _put_down(self) -> None:
        if self.booth.keeper.trouble is not None:
            self.say("Not everything is kept yet. Press r to try again first.", trouble=True)
        elif not self._going:
            self._going = True
            self.booth.keep(PutDown(self.glass.serving_id))

    def not_kept(self, job: Job, why: str) -> None:
        """Let the glass be passed or held again once what failed is kept."""
        self._going = False
        super().not_kept(job, why)

    def action_back(self) -> None:
        """Say how to go back."""
        if self.tray.may_go_back:
            self.say("Pass or hold this one first; then type the code of the one to go back to.")
        else:
            self.say(said.NO_GOING_BACK)

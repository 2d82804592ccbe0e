"""A set of glasses at the screen: picked, sorted or ranked by their numbers, with one hand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget
from textual.widgets import Static

from panel.block_signs import small
from panel.booth.keys import SEAT_KEYS, SET_KEYS
from panel.booth.seated import SeatedScreen
from panel.booth.window import KeyStrip
from panel.errors import BoothError
from panel.kinds import Task
from panel.seat import sets_said
from panel.seat.jobs import AnswerSet, Job
from panel.session.sets import Answering, GlassSet, answerable, task_of
from panel.store.booth_tray import Glass

if TYPE_CHECKING:
    from textual.geometry import Size

GAP = 4
MOST_LARGE = 4
"""More codes than these stand one below the other."""
HOW = {
    Task.PICK: "Its number picks it, another changes that; Enter keeps the answer.",
    Task.SORT: "The number of the one that goes with 1; Enter keeps the answer.",
    Task.RANK: "Numbers in their order, = before one that is as strong; Enter keeps the answer.",
    Task.ODD: "Its number picks it, another changes that; Enter keeps the answer.",
    Task.MATCH: "The number of the one that is like 1; Enter keeps the answer.",
}

MARKS = {Task.PICK: "more", Task.SORT: "together", Task.ODD: "odd", Task.MATCH: "the same"}
"""What stands under a glass that was chosen."""


class SetCodes(Widget):
    """The codes of a set, each with its number and its place in the answer.

    Large and side by side where there are few; more of them one below the other.
    """

    DEFAULT_CSS = "SetCodes { width: 100%; height: auto; text-align: center; color: $primary; }"
    shown: reactive[tuple[tuple[str, str], ...]] = reactive((), layout=True)

    def render(self) -> Content:
        """Draw the codes in the width there is."""
        return Content("\n".join(code_rows(self.shown, self.size.width)))

    def get_content_height(self, container: Size, viewport: Size, width: int) -> int:
        """Return the rows that the codes take in a width."""
        return len(code_rows(self.shown, width))


def code_rows(shown: Sequence[tuple[str, str]], width: int) -> list[str]:
    """Return the rows of text that show codes with their marks."""
    if len(shown) > MOST_LARGE:
        cells = max(len(mark) for _, mark in shown)
        return [f"{n}   {code}   {mark.ljust(cells)}" for n, (code, mark) in enumerate(shown, 1)]
    cells = len(small("000")[0])
    fit = max(1, (width + GAP) // (cells + GAP))
    in_row = -(-len(shown) // max(1, -(-len(shown) // fit)))
    rows: list[str] = []
    for start in range(0, len(shown), max(1, in_row)):
        rows += _row(start, shown[start : start + in_row], cells)
    return rows


def _row(start: int, row: Sequence[tuple[str, str]], cells: int) -> list[str]:
    gap = " " * GAP
    numbers = gap.join(str(start + n).center(cells) for n in range(1, len(row) + 1))
    codes = [gap.join(parts) for parts in zip(*(small(code) for code, _ in row), strict=True)]
    marks = gap.join(mark.center(cells) for _, mark in row)
    return [line.ljust(len(numbers)) for line in (numbers, *codes, marks)]


class SetScreen(SeatedScreen, inherit_bindings=False):
    """The glasses of one set and the answer to it; it is on disk before it is called kept."""

    DEFAULT_CSS = """
    SetScreen > Vertical { align: center middle; height: 1fr; }
    SetScreen Static { width: 100%; text-align: center; height: auto; }
    SetScreen SetCodes { margin: 1 0 0 0; }
    SetScreen #question { text-style: bold; }
    SetScreen #answer { text-style: bold; margin: 1 0 0 0; }
    SetScreen #meaning, SetScreen #place, SetScreen #how { color: $secondary; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [*SET_KEYS, *SEAT_KEYS]

    def __init__(self, one: GlassSet, words: str = "", *, trouble: bool = False) -> None:
        super().__init__(words, trouble=trouble)
        self.one = one
        self.given = Answering(Task.PICK, len(one.glasses))
        self._going = False
        self.place = Static(id="place", markup=False)
        self.question = Static(id="question", markup=False)
        self.meaning = Static(id="meaning", markup=False)
        self.codes = SetCodes()
        self.answer = Static(id="answer", markup=False)
        self.how = Static(id="how", markup=False)

    @property
    def glass_shown(self) -> Glass | None:
        """Return the glass of the set that was taken up."""
        return next((g for g in self.one.glasses if g.taken_at and not g.finished_at), None)

    def compose(self) -> ComposeResult:
        """Lay out the question, the codes, the answer and the message."""
        yield self.top
        with Vertical():
            yield self.place
            yield self.question
            yield self.meaning
            yield self.codes
            yield self.answer
            yield self.how
        yield self.say_line
        yield KeyStrip()

    def on_mount(self) -> None:
        """Begin the answer; the class above does the rest."""
        self.given = Answering(task_of(self.tray), len(self.one.glasses))
        self._show_answer()

    def show_tray(self) -> None:
        """Show what is asked of the set."""
        super().show_tray()
        self.place.update(f"{sets_said.place_words(self.tray, self.one)} {sets_said.NOSE_THEM}")
        self.question.update(sets_said.question(self.tray))
        self.meaning.update(sets_said.meaning(self.tray))
        short = sets_said.not_answerable(self.tray, self.one)
        self.how.update(f"{short} Enter leaves it." if short else HOW[task_of(self.tray)])

    def _show_answer(self) -> None:
        marks = self._marks()
        self.codes.shown = tuple(
            (glass.code, mark) for glass, mark in zip(self.one.glasses, marks, strict=True)
        )
        self.answer.update(sets_said.answer_words(self.tray, self.one, self.given))

    def _marks(self) -> tuple[str, ...]:
        if self.given.task is Task.RANK:
            places = self.given.places()
            return tuple(f"place {place}" if place else "" for place in places)
        task, size = self.given.task, self.given.size
        named = [sets_said.called(task, n) if task.marks_first else "" for n in range(size)]
        if not self.given.groups:
            return tuple(named)
        places = self.given.places()
        signs = (f"^ {MARKS[task]} ^" if place == 1 else "" for place in places)
        return tuple(name or sign for name, sign in zip(named, signs, strict=True))

    def action_digit(self, digit: str) -> None:
        """Choose a glass, or give it the next place."""
        if self._going:
            return
        try:
            self.given = self.given.with_number(int(digit) - 1)
        except BoothError as error:
            self.say(str(error), trouble=True)
            return
        self.say("")
        self._show_answer()

    def action_equal(self) -> None:
        """Give the next glass the place of the last one."""
        self.given = self.given.with_equal()
        self._show_answer()

    def action_back_digit(self) -> None:
        """Take the last number back."""
        if not self._going:
            self.given = self.given.without_last()
            self._show_answer()

    def action_keep(self) -> None:
        """Keep the answer; what can no longer be answered is left."""
        if self._going:
            return
        if self.booth.keeper.trouble is not None:
            self.say("Not everything is kept yet. Press r to try again first.", trouble=True)
            return
        places: dict[int, int] = {}
        if answerable(task_of(self.tray), self.one):
            if not self.given.whole:
                self.refuse(sets_said.not_whole(self.given))
                return
            ids = [glass.serving_id for glass in self.one.glasses]
            places = dict(zip(ids, self.given.places(), strict=True))
        self._going = True
        self.booth.keep(AnswerSet(self.one.number, places))

    def not_kept(self, job: Job, why: str) -> None:
        """Let the answer be changed or tried again; it stays on the screen."""
        self._going = self._going and not isinstance(job, AnswerSet)
        super().not_kept(job, why)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer equal places only where glasses are ranked."""
        if action == "equal" and (not self.ready or self.given.task is not Task.RANK):
            return False
        return super().check_action(action, parameters)

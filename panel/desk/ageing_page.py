"""How notes grow with age: a line a curve, the curve of the arrow drawn below it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column
from panel.desk.held_later import later_here
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.list_page import ListPage
from panel.desk.page import Follows
from panel.desk.pick import PickPage
from panel.desk.slip import ReadSlip
from panel.desk.targets import COLUMNS as TARGET_COLUMNS

if TYPE_CHECKING:
    from analysis.ageing import Ageing, Curve
    from panel.desk.page import Drawn, Handed
    from panel.questions.targets import TargetRecord

MOST_PICTURE = 19
"""Lines of the picture below the table, on a screen that has room for them."""


def ends(curve: Curve) -> tuple[float, float] | None:
    """Return a curve's estimate at the first and the last age that is known."""
    known = [point for point in curve.points if point.known]
    return (known[0].estimate, known[-1].estimate) if known else None


def moves(curve: Curve) -> str:
    """Return from where to where a note goes over the ages known."""
    found = ends(curve)
    return "" if found is None else f"{found[0]:.0f} → {found[1]:.0f}"


def change(curve: Curve) -> float | None:
    """Return how far a note goes, for sorting."""
    found = ends(curve)
    return None if found is None else abs(found[1] - found[0])


COLUMNS: tuple[Column[Curve], ...] = (
    Column("Descriptor", 18, lambda c: c.descriptor),
    Column("Moves", 9, moves, change, right=True),
    Column("Nosed", 5, lambda c: f"{c.n_draws}x", lambda c: c.n_draws, right=True),
    Column("Casks", 5, lambda c: str(c.n_casks), lambda c: c.n_casks, right=True),
    Column("Style", 30, lambda c: c.style, stretch=True),
)


class CurveTable(BigTable["Curve"]):
    """Curves, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class AgeingPage(ListPage):
    """Curves of all styles, or of one cask; what is not known is dotted, without an interval."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "casks"
    FIND_HINT = "words of descriptor, make, wood"
    DEFAULT_CSS = """
    AgeingPage CurveTable { height: 1fr; min-height: 4; }
    AgeingPage #picture { height: auto; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("y", "windows", "Windows", "ageing.windows", "When a target is met"),
        key("w", "evidence", "Evidence", "ageing.evidence", "What it rests on"),
        key("x", "write_page", "Hand on", "ageing.hand_on", "Write a page of it into a file"),
    ]

    @dataclass
    class Read(Message):
        """The curves have been reckoned."""

        result: Ageing
        targets: list[TargetRecord]
        later: str

    def __init__(self, cask: str | None = None) -> None:
        super().__init__()
        self.cask = cask
        self.result: Ageing | None = None
        self.targets: list[TargetRecord] = []

    def table(self) -> BigTable[Curve]:
        """Make the table of curves."""
        return CurveTable(
            COLUMNS, name_of=lambda c: (c.style, c.cask, c.descriptor), empty="Nothing known yet."
        )

    def body(self) -> ComposeResult:
        """The table, and the picture under it."""
        yield from super().body()
        yield LateWords()
        yield Static(id="picture")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.head(f"How {self.cask} ages" if self.cask else "How styles age")
        self.say("Reckoning over all sessions; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="ageing", exit_on_error=False)
    def read(self) -> None:
        """Reckon the curves."""
        from panel.questions.ageing import house_ageing
        from panel.questions.targets import target_records

        casks = (self.cask,) if self.cask else ()
        with self.reckoning(), self.desk.store.read() as db:
            targets = target_records(db)
            today = self.desk.today()
            known = self.desk.known.of(db, as_of=today)
            result = house_ageing(db, as_of=today, casks=casks, profile=known)
            later = later_here(db, today)
        self.hand_over(self.Read(result, targets, later))

    def on_ageing_page_read(self, message: Read) -> None:
        """Show the curves."""
        self.result, self.targets = message.result, message.targets
        self.fill(message.result.curves)
        self.say(" ".join(message.result.warnings))
        self.query_one(LateWords).tell([message.later])

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Draw the curve of the arrow."""
        self.query_one("#picture", Static).update(Content("\n".join(self.drawn(event.row))))
        self.refresh_bindings()

    def handed_on(self, reader: str) -> Handed | None:
        """Return the page of these curves."""
        from panel.desk.handing import ageing_page

        return ageing_page(self.desk, self.cask)

    def drawn_as(self) -> Drawn | None:
        """The curve of the arrow; of a cask all its curves."""
        from panel.pictures.ageing import grown, one_curve

        result, curve = self.result, self.list.current
        plane = None if curve is None else one_curve(curve)
        if result is None or plane is None:
            return None
        if self.cask is None:
            return plane.title.rstrip("?"), lambda _db: [plane]
        return f"How {self.cask} ages", lambda db: grown(db, result)

    def drawn(self, curve: Curve) -> Sequence[str]:
        """Return a curve as a picture, as high as the screen allows."""
        from panel.pictures.ageing import curve_cells
        from panel.words.answers import paragraph

        width, height = self.size.width - 2, min(self.size.height // 2, MOST_PICTURE)
        drawn = curve_cells(curve, width, height)
        if curve.reason or not drawn:
            return paragraph(f"{curve.descriptor}: {curve.reason or 'one age only'}.", width)
        note = paragraph(f"({curve.note})", width) if curve.note else []
        return [*note, *drawn]

    def on_resize(self) -> None:
        """Draw anew at the size of now."""
        if self.is_mounted and self.list.current is not None:
            lines = self.drawn(self.list.current)
            self.query_one("#picture", Static).update(Content("\n".join(lines)))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Say what a curve rests on."""
        from panel.words.answers import paragraph

        curve: Curve = event.row
        lines = paragraph(f"{curve.style}: {curve.evidence}", WORDS_WIDTH)
        self.app.push_screen(ReadSlip(curve.descriptor, lines))

    def action_evidence(self) -> None:
        """Show the two kinds of evidence, and what could not be told."""
        from panel.words.ageing_words import evidence_lines, left_out_lines

        if self.result is not None:
            lines = [
                *evidence_lines(self.result, WORDS_WIDTH),
                *left_out_lines(self.result, WORDS_WIDTH),
            ]
            self.app.push_screen(ReadSlip("What it rests on", lines or ["Nothing to add."]))

    def action_windows(self) -> None:
        """Show when this cask meets each target; without a cask, ask which target."""
        if self.result is None:
            return
        if self.cask is not None:
            from panel.words.ageing_words import window_lines

            lines = window_lines(self.result, WORDS_WIDTH)
            self.app.push_screen(ReadSlip(f"When {self.cask} meets a target", lines or [NO_TARGET]))
            return
        page = PickPage(
            "Which target?",
            self.targets,
            TARGET_COLUMNS,
            name_of=lambda target: target.name,
            place="casks",
            many=False,
        )
        self.app.push_screen(page, self.show_windows)

    def show_windows(self, names: tuple[str, ...] | None) -> None:
        """Go to the windows of a target."""
        if names:
            self.app.push_screen(page_of("windows", names[0]))


NO_TARGET = "No target is loaded yet: n at Targets writes one."

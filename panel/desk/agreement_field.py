"""The agreement field: a line a descriptor, a column an assessor, one sign where they meet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from rich.cells import cell_len
from rich.segment import Segment
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.strip import Strip

from panel.desk.agreement_signs import (
    TO_TALK_ABOUT,
    sign_of_note,
    sign_of_panel,
    sign_of_person,
    sign_of_span_note,
)
from panel.desk.columns import fit
from panel.desk.moving import Cells

if TYPE_CHECKING:
    from textual.events import Click

    from analysis.agreement import Agreement, Span

EVENING = "all notes"
PANEL_WIDTH = 6
LEAST_CELL, MOST_CELL = 4, 9
LONGEST_NAME = 20


@dataclass(frozen=True)
class Chosen:
    """Where the cursor stands; no descriptor is all of them, no assessor the whole panel."""

    descriptor: str | None
    assessor: str | None


@dataclass(frozen=True)
class Signs:
    """What the field shows. The first line and the first sign of each are those of all notes.

    `panel` holds a word a line, `people` for each line a sign a person.
    """

    descriptors: tuple[str, ...]
    assessors: tuple[str, ...]
    panel: tuple[str, ...]
    people: tuple[tuple[str, ...], ...]


def signs_of_session(result: Agreement) -> Signs:
    """Return the field of one session."""
    notes = [{note.descriptor: note for note in person.notes} for person in result.assessors]
    lines = [
        tuple(sign_of_note(theirs.get(part.descriptor)) for theirs in notes)
        for part in result.descriptors
    ]
    words = [result.verdict.word, *(part.verdict.word for part in result.descriptors)]
    return Signs(
        tuple(part.descriptor for part in result.descriptors),
        tuple(person.assessor for person in result.assessors),
        tuple(sign_of_panel(each) for each in words),
        (tuple(sign_of_person(person.verdict.word) for person in result.assessors), *lines),
    )


def signs_of_span(result: Span) -> Signs:
    """Return the field of several sessions; who moves on the reference bears an arrow."""
    notes = [{note.descriptor: note for note in person.notes} for person in result.assessors]
    lines = [
        tuple(sign_of_span_note(theirs.get(part.descriptor)) for theirs in notes)
        for part in result.descriptors
    ]
    return Signs(
        tuple(part.descriptor for part in result.descriptors),
        tuple(person.assessor for person in result.assessors),
        ("", *(sign_of_panel(part.verdict.word) for part in result.descriptors)),
        (tuple(sign_of_person(person.verdict.word) for person in result.assessors), *lines),
    )


class AgreementField(Cells):
    """Descriptor by assessor; the arrows choose a cell, Enter goes into it."""

    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "agreement--heading",
        "agreement--cell",
        "agreement--talk",
        "agreement--chosen",
    }
    DEFAULT_CSS = """
    AgreementField { height: 1fr; }
    AgreementField > .agreement--heading { color: $secondary; text-style: bold; }
    AgreementField > .agreement--cell { color: $foreground; }
    AgreementField > .agreement--talk { color: $accent; text-style: bold; }
    AgreementField > .agreement--chosen { color: $foreground; text-style: reverse bold; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "Go in", id="agreement.open", tooltip="The note, or the person"),
        Binding("left", "move(0,-1)", "Person before", show=False, id="agreement.left"),
        Binding("right", "move(0,1)", "Next person", show=False, id="agreement.right"),
        Binding("up", "move(-1,0)", "Note above", show=False, id="agreement.up"),
        Binding("down", "move(1,0)", "Next note", show=False, id="agreement.down"),
        Binding("home", "move(-999,0)", "All notes", show=False, id="agreement.home"),
        Binding("end", "move(999,0)", "Last note", show=False, id="agreement.end"),
    ]

    STANDING: ClassVar[int] = 1

    @dataclass
    class Moved(Message):
        """Another cell was chosen."""

        chosen: Chosen

    @dataclass
    class Opened(Message):
        """Enter or a second click on a cell."""

        chosen: Chosen

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.signs: Signs | None = None

    def fill(self, signs: Signs) -> None:
        """Show the signs; the cursor stays."""
        self.signs = signs
        self.stay()

    @property
    def last_row(self) -> int:
        """Of the last note; the first row is all of them."""
        return len(self.signs.descriptors) if self.signs else 0

    @property
    def last_column(self) -> int:
        """Of the last person; the first column is the panel."""
        return len(self.signs.assessors) if self.signs else 0

    @property
    def columns_in_view(self) -> int:
        """People that fit beside the notes and the panel."""
        return max(self._room // self._cell_width, 1)

    def tell(self) -> None:
        """Say which cell was chosen."""
        if self.chosen is not None:
            self.post_message(self.Moved(self.chosen))

    @property
    def chosen(self) -> Chosen | None:
        """What lies under the cursor."""
        if self.signs is None:
            return None
        return Chosen(
            self.signs.descriptors[self.row - 1] if self.row else None,
            self.signs.assessors[self.column - 1] if self.column else None,
        )

    def action_open(self) -> None:
        """Go into the cell."""
        if self.chosen is not None:
            self.post_message(self.Opened(self.chosen))

    def on_click(self, event: Click) -> None:
        """Choose the cell that was clicked; a second click opens it."""
        row = 0 if event.y == 1 else self.first_row + event.y - 2
        beyond = event.x - self._name_width - PANEL_WIDTH
        column = 0 if beyond < 0 else self.first_column + beyond // self._cell_width
        if event.y < 1:
            return
        if (row, column) == (self.row, self.column) and event.chain > 1:
            self.action_open()
        self.row, self.column = row, column

    # ---- drawing

    @property
    def _name_width(self) -> int:
        names = [EVENING, *(self.signs.descriptors if self.signs else ())]
        return min(max(map(cell_len, names)), LONGEST_NAME) + 2

    @property
    def _room(self) -> int:
        return self.size.width - self._name_width - PANEL_WIDTH - 1

    @property
    def _cell_width(self) -> int:
        people = self.signs.assessors if self.signs else ()
        longest = max(map(cell_len, people), default=0) + 1
        fair = self._room // max(len(people), 1)
        return max(LEAST_CELL, min(longest, fair, MOST_CELL))

    def _shown_people(self) -> list[tuple[int, str]]:
        people = self.signs.assessors if self.signs else ()
        numbered = list(enumerate(people, 1))
        return numbered[self.first_column - 1 :][: self.columns_in_view]

    def render_line(self, y: int) -> Strip:
        """Draw the heading, all notes together, or one note."""
        row = 0 if y == 1 else self.first_row + y - 2
        if y == 0:
            segments = self._heading()
        elif self.signs is not None and row <= len(self.signs.descriptors):
            segments = self._line(row, self.signs)
        else:
            segments = []
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style)

    def _heading(self) -> list[Segment]:
        style = self.get_component_rich_style("agreement--heading")
        if self.signs is None:
            return []
        shown = self._shown_people()
        before = "◂" if self.first_column > 1 else " "
        names = "".join(fit(name, self._cell_width - 1) + " " for _, name in shown)
        more = "▸" if shown and shown[-1][0] < len(self.signs.assessors) else ""
        lead = fit("", self._name_width) + fit("panel", PANEL_WIDTH - 1)
        return [Segment(lead + before + names + more, style)]

    def _line(self, row: int, signs: Signs) -> list[Segment]:
        name = signs.descriptors[row - 1] if row else EVENING
        heading = self.get_component_rich_style(f"agreement--{'cell' if row else 'heading'}")
        cells = [Segment(f" {fit(name, self._name_width - 2)} ", heading)]
        cells += self._cell(row, 0, fit(signs.panel[row], PANEL_WIDTH - 1))
        for column, _ in self._shown_people():
            sign = signs.people[row][column - 1]
            cells += self._cell(row, column, fit(sign, self._cell_width - 1))
        return cells

    def _cell(self, row: int, column: int, text: str) -> list[Segment]:
        part = "talk" if text.strip() in TO_TALK_ABOUT else "cell"
        if (row, column) == (self.row, self.column):
            part = "chosen"
        plain = self.get_component_rich_style("agreement--cell")
        style = self.get_component_rich_style(f"agreement--{part}")
        return [Segment(text, style), Segment(" ", plain)]

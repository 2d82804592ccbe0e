"""One descriptor, all assessors side by side: everybody's samples on the same line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Static

from panel.desk.agreement_signs import sign_of_note, sign_of_panel, with_sessions
from panel.desk.columns import fit
from panel.desk.drawn_list import DrawnList
from panel.desk.homes import page_of
from panel.desk.keys import key
from panel.desk.page import Follows, Page
from panel.desk.scale_line import LETTERS, ScaleLine
from panel.desk.slip import ReadSlip
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.agreement import Agreement, AssessorAgreement, DescriptorAgreement
    from panel.desk.page import Drawn
    from panel.questions.own_means import OwnMeans

FIGURES_WIDTH = 70
NAME_WIDTH = 9
RIGHT_WIDTH = 20
LEAST_STRETCH = 10.0


@dataclass(frozen=True)
class Nose:
    """One line: the panel, or one assessor, with the mean of each sample."""

    name: str
    values: dict[str, float]
    shift: float | None
    width: float | None
    sign: str
    person: AssessorAgreement | None


class NoseList(DrawnList[Nose]):
    """The panel first, then the assessors by code."""


def noses(result: Agreement, note: DescriptorAgreement, means: OwnMeans) -> list[Nose]:
    """Return the lines of one descriptor, on the 0-100 line."""
    per_point = 100.0 / (note.scale_high - note.scale_low)
    panel = {part.sample: (part.mean - note.scale_low) * per_point for part in note.means}
    lines = [Nose("panel", panel, None, None, sign_of_panel(note.verdict.word), None)]
    for person in result.assessors:
        theirs = {part.descriptor: part for part in person.notes}.get(note.descriptor)
        shift = None if theirs is None or theirs.offset is None else theirs.offset * per_point
        slope = theirs.slope if theirs else None
        values = dict(means.get(note.descriptor, {}).get(person.assessor, {}))
        sign = sign_of_note(theirs)
        lines.append(Nose(person.assessor, values, shift, slope, sign, person))
    return lines


def lettered(note: DescriptorAgreement) -> dict[str, str]:
    """Return a letter for each sample, a for the lowest of the panel."""
    ranked = sorted(note.means, key=lambda part: (part.mean, part.sample))
    return {part.sample: letter for part, letter in zip(ranked, LETTERS, strict=False)}


class SideBySidePage(Page):
    """Letters are samples in the panel's order: read who is shifted, narrow, wide or reversed."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "sessions"
    DEFAULT_CSS = """
    SideBySidePage #verdict { height: auto; max-height: 6; padding: 0 1; text-style: bold; }
    SideBySidePage #letters { height: auto; max-height: 3; padding: 0 1; color: $secondary; }
    SideBySidePage #sentence { height: auto; min-height: 2; max-height: 3; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("z", "nearer", "Nearer", "side.nearer", "Only the stretch in use"),
        key("w", "tests", "Tests", "side.tests", "How the tests came out"),
        Binding("left", "turn(-1)", "Note before", show=False, id="side.before"),
        Binding("right", "turn(1)", "Next note", id="side.next", tooltip="The next descriptor"),
    ]

    def __init__(
        self, result: Agreement, means: OwnMeans, descriptor: str, assessor: str | None = None
    ) -> None:
        super().__init__()
        self.result, self.means = result, means
        names = [note.descriptor for note in result.descriptors]
        self.place = names.index(descriptor)
        self.first = assessor
        self.near = False
        self.letter: dict[str, str] = {}
        self.lines: Sequence[Nose] = ()

    @property
    def note(self) -> DescriptorAgreement:
        """The descriptor that is shown."""
        return self.result.descriptors[self.place]

    def body(self) -> ComposeResult:
        """Verdict, the lines, what the letters are, the sentence of the line of the arrow."""
        yield Static(id="verdict")
        yield NoseList(self.draw, heading=self.heading)
        yield Static(id="letters")
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Show the descriptor."""
        super().set_up()
        self.show()
        names = [nose.name for nose in self.lines]
        if self.first in names:
            self.query_one(NoseList).cursor = names.index(self.first)

    def show(self) -> None:
        """Draw the descriptor of now."""
        note = self.note
        self.lines = noses(self.result, note, self.means)
        self.letter = lettered(note)
        self.head(f"{note.descriptor} in {self.result.session}", note.verdict.label)
        self.query_one("#verdict", Static).update(Content(with_sessions(note)))
        key = "  ".join(f"{letter} {sample}" for sample, letter in self.letter.items())
        self.query_one("#letters", Static).update(Content(key))
        self.query_one(NoseList).fill(self.lines)

    def line(self, room: int) -> ScaleLine:
        """Return the stretch that is drawn, in the room between name and figures."""
        width = max(room - NAME_WIDTH - RIGHT_WIDTH, 10)
        values = [value for nose in self.lines for value in nose.values.values()]
        if not self.near or not values:
            return ScaleLine(width)
        low, high = min(values), max(values)
        spare = max(LEAST_STRETCH - (high - low), 0.0) / 2
        return ScaleLine(width, low - spare, high + spare)

    def heading(self, room: int) -> list[str]:
        """Return the axis between the headings of name and figures."""
        return [f"{fit('', NAME_WIDTH)}{self.line(room).axis()} shift  width  read "]

    def draw(self, nose: Nose, room: int) -> str:
        """Draw one line."""
        values = {
            self.letter[sample]: value
            for sample, value in nose.values.items()
            if sample in self.letter
        }
        panel = self.lines[0].values.values()
        middle = sum(panel) / len(panel) if panel else None
        drawn = self.line(room).letters(values, middle)
        shift = "" if nose.shift is None else f"{round(nose.shift):+d}"
        width = "" if nose.width is None else f"×{in_digits(nose.width, '.1f')}"
        return f"{fit(nose.name, NAME_WIDTH - 1)} {drawn}{shift:>6} {width:>6}  {fit(nose.sign, 5)}"

    @on(DrawnList.Moved)
    def moved(self, event: DrawnList.Moved) -> None:
        """Say the line in words."""
        from panel.words.note_words import note_sentence

        nose: Nose = event.row
        said = KEY_WORDS
        if nose.person is not None:
            own = next(n for n in nose.person.notes if n.descriptor == self.note.descriptor)
            said = note_sentence(nose.name, own, self.note)
        self.query_one("#sentence", Static).update(Content(said))

    @on(DrawnList.Opened)
    def open(self, event: DrawnList.Opened) -> None:
        """Go to one assessor's own page, or to the figures of the panel."""
        nose: Nose = event.row
        if nose.person is None:
            self.action_tests()
        else:
            self.app.push_screen(page_of("assessor", nose.person, self.result))

    def drawn_as(self) -> Drawn:
        """Everybody's means of the note, after the reveal; the page of whom the arrow stands on."""
        from panel.pictures.people import seen_differently

        nose = self.query_one(NoseList).current
        own = nose.name if nose and nose.person else None
        session, note = self.result.session, self.note.descriptor
        whose = f" for {own}" if own else ""
        return (
            f"{note} in {session}{whose}",
            lambda db: seen_differently(db, session, note, own=own),
        )

    def action_nearer(self) -> None:
        """Draw the stretch in use only, or the whole line again."""
        self.near = not self.near
        self.query_one(NoseList).refresh()

    def action_turn(self, step: int) -> None:
        """Go to another descriptor, round the end."""
        self.place = (self.place + step) % len(self.result.descriptors)
        self.show()

    def action_tests(self) -> None:
        """Show means, tests and variances."""
        from panel.words.session_answer import descriptor_lines

        lines = descriptor_lines(self.note, FIGURES_WIDTH)
        self.app.push_screen(ReadSlip(self.note.descriptor, lines))


KEY_WORDS = (
    "Letters are samples, a the panel's lowest; ┊ is the panel's middle. Letters out of order: "
    "other order. Shift: points above or below the others. Width: points for one of the others'."
)

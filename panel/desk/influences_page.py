"""What wood, age, peat and strength do: a sentence a note, then its effects drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.content import Content
from textual.message import Message
from textual.widgets import Static

from panel.desk.big_table import BigTable, sort_keys
from panel.desk.columns import WORDS_WIDTH, Column, fit
from panel.desk.drawn_list import DrawnList
from panel.desk.held_later import later_here
from panel.desk.keys import key
from panel.desk.late_words import LateWords
from panel.desk.page import Follows, Page
from panel.desk.scale_line import GUIDE, ScaleLine, over
from panel.desk.slip import ReadSlip
from panel.figures import in_digits

if TYPE_CHECKING:
    from analysis.influences import Effect, Factor, Influences, NoteInfluences
    from panel.desk.page import Drawn, Handed

NAME_WIDTH = 38
RIGHT_WIDTH = 13


@cache
def short_factors() -> dict[Factor, str]:
    """Return the influences as they stand before a drawn line."""
    from analysis.influences import Factor

    return {
        Factor.WOOD: "wood",
        Factor.FILL: "fill",
        Factor.WOOD_FILL: "fill in",
        Factor.AGE: "age",
        Factor.AGE_IN_WOOD: "age in",
        Factor.PHENOLS: "phenols",
        Factor.FILL_STRENGTH: "strength",
        Factor.PREVIOUS: "before",
        Factor.WAREHOUSE: "place",
        Factor.MAKE: "make",
        Factor.CASK: "cask",
    }


def foretold(note: NoteInfluences) -> str:
    """Return how much of the differences is foretold without the cask itself."""
    return "-" if note.q2_cask is None else f"{max(note.q2_cask, 0.0):.0%}"


COLUMNS: tuple[Column[NoteInfluences], ...] = (
    Column("Descriptor", 18, lambda n: n.descriptor),
    Column("Foretold", 8, foretold, lambda n: n.q2_cask, right=True),
    Column("Casks", 5, lambda n: str(n.n_casks), lambda n: n.n_casks, right=True),
    Column("In words", 40, lambda n: n.reason or n.sentence, stretch=True),
)


class InfluenceTable(BigTable["NoteInfluences"]):
    """A line a descriptor, with a key for each column."""

    BINDINGS: ClassVar[list[BindingType]] = sort_keys(COLUMNS)


class InfluencesPage(Page):
    """One line a descriptor; Enter shows what moves it, with intervals."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "casks"
    TITLE_WORDS = "What moves each note"
    DEFAULT_CSS = "InfluencesPage #sentence { height: 5; padding: 0 1; }"
    BINDINGS: ClassVar[list[BindingType]] = [
        key("w", "doubts", "Doubts", "influences.doubts", "What cannot be told"),
        key("x", "write_page", "Hand on", "influences.hand_on", "Write a page of it into a file"),
    ]

    @dataclass
    class Read(Message):
        """The influences have been reckoned."""

        result: Influences
        later: str

    def __init__(self) -> None:
        super().__init__()
        self.result: Influences | None = None

    def body(self) -> ComposeResult:
        """The notes, and the sentence of the line of the arrow."""
        yield InfluenceTable(COLUMNS, name_of=lambda n: n.descriptor, empty="Nothing known yet.")
        yield LateWords()
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Say that it takes a moment."""
        super().set_up()
        self.say("Reckoning over all sessions; the other places can be used meanwhile ...")

    @work(thread=True, exclusive=True, group="influences", exit_on_error=False)
    def read(self) -> None:
        """Reckon the influences."""
        from panel.questions.influences import influences_of

        with self.reckoning(), self.desk.store.read() as db:
            today = self.desk.today()
            known = self.desk.known.of(db, as_of=today)
            result = influences_of(db, as_of=today, with_stock=False, profile=known)
            later = later_here(db, today)
        self.hand_over(self.Read(result, later))

    def on_influences_page_read(self, message: Read) -> None:
        """Show the notes."""
        result = self.result = message.result
        self.head(fact=f"{result.n_casks} casks, {result.n_draws} draws")
        self.query_one(InfluenceTable).fill(result.notes)
        self.say(first_words(result))
        self.query_one(LateWords).tell([message.later])

    @on(BigTable.Moved)
    def moved(self, event: BigTable.Moved) -> None:
        """Show the whole sentence."""
        note: NoteInfluences = event.row
        self.query_one("#sentence", Static).update(Content(note.reason or note.sentence))

    @on(BigTable.Opened)
    def open(self, event: BigTable.Opened) -> None:
        """Show the effects on one note."""
        note: NoteInfluences = event.row
        if self.result is not None:
            self.app.push_screen(EffectsPage(self.result, note))

    def drawn_as(self) -> Drawn | None:
        """The note of the arrow: its effects around nothing."""
        note = self.query_one(InfluenceTable).current
        return drawn_effects(self.result, note.descriptor) if self.result and note else None

    def handed_on(self, reader: str) -> Handed | None:
        """The page of all notes."""
        from panel.desk.handing import influences_page

        return influences_page(self.desk) if self.result else None

    def action_doubts(self) -> None:
        """Show what cannot be separated, what was left out and what to be wary of."""
        if self.result is not None:
            lines = doubts_of(self.result)
            self.app.push_screen(ReadSlip("What cannot be told", lines))


def first_words(result: Influences) -> str:
    """Return what to know before any figure is read."""
    doubts = len(result.separation.inseparable)
    said = list(result.warnings)
    said += [f"w shows {doubts} influences that cannot be separated yet."] if doubts else []
    return " ".join(said)


def doubts_of(result: Influences) -> Sequence[str]:
    """Return warnings, influences that cannot be separated, draws left out."""
    from panel.words.answers import paragraph
    from panel.words.influence_words import FACTORS

    names = {str(factor): name for factor, name in FACTORS.items()}
    said = list(result.warnings)
    said += [
        f"{names.get(part.factor, str(part.factor))} {part.level}: {part.note}."
        for part in result.separation.inseparable
    ]
    said += [f"Left out: {count} draws, {why}." for why, count in result.left_out.items()]
    lines = [line for words in said for line in (*paragraph(words, WORDS_WIDTH), "")]
    return lines[:-1] or ["Everything that was recorded can be told apart."]


class EffectList(DrawnList["Effect"]):
    """A line an effect."""


class EffectsPage(Page):
    """What moves one note: points more or less, everything else equal, with intervals."""

    FOLLOWS = Follows.WHEN_ASKED
    PLACE = "casks"
    DEFAULT_CSS = """
    EffectsPage #about { height: auto; max-height: 4; padding: 0 1; text-style: bold; }
    EffectsPage #sentence { height: 3; padding: 0 1; }
    """
    BINDINGS: ClassVar[list[BindingType]] = [
        key("x", "write_page", "Hand on", "effects.hand_on", "Write a page of it into a file"),
    ]

    def __init__(self, result: Influences, note: NoteInfluences) -> None:
        super().__init__()
        self.result, self.note = result, note
        self.reach = reach_of(result.of(note.descriptor))

    def body(self) -> ComposeResult:
        """The sentence, the effects, the line of the arrow in words."""
        yield Static(Content(self.note.reason or self.note.sentence), id="about")
        yield EffectList(self.draw, heading=self.heading)
        yield Static(id="sentence")

    def set_up(self) -> None:
        """Show the effects."""
        super().set_up()
        self.head(f"What moves {self.note.descriptor}", f"intervals {self.result.level:.0%}")
        self.query_one(EffectList).fill(self.result.of(self.note.descriptor))

    def drawn_as(self) -> Drawn | None:
        """The effects around nothing."""
        return drawn_effects(self.result, self.note.descriptor)

    def handed_on(self, reader: str) -> Handed | None:
        """The page of this note."""
        from panel.desk.handing import influences_page

        return influences_page(self.desk, self.note.descriptor)

    def line(self, room: int) -> ScaleLine:
        """Return the line between name and figures, nought in its middle."""
        return ScaleLine(max(room - NAME_WIDTH - RIGHT_WIDTH, 9), -self.reach, self.reach)

    def heading(self, room: int) -> list[str]:
        """Return the axis."""
        return [f"{fit('', NAME_WIDTH)}{self.line(room).axis()} points casks"]

    def draw(self, effect: Effect, room: int) -> str:
        """Draw one effect; a clear one bears a full point."""
        factor = short_factors()[effect.factor]
        name = fit(f"{fit(factor, 9)} {effect.level}", NAME_WIDTH - 1)
        line = self.line(room)
        if effect.estimate is None:
            why = effect.note or "not known"
            return f"{name} {fit(f'? {why}', line.width + 7)}{effect.n_casks:>5}"
        ground = fit("", line.place(0.0)) + GUIDE
        drawn = over(fit(ground, line.width), self.bar(effect, line))
        return f"{name} {drawn}{in_digits(effect.estimate, '>+6.1f')}{effect.n_casks:>6}"

    def bar(self, effect: Effect, line: ScaleLine) -> str:
        """Return the interval of an effect; hollow where its direction is in doubt."""
        value = effect.estimate or 0.0
        low = value if effect.low is None else effect.low
        high = value if effect.high is None else effect.high
        return line.bar(low, value, high, sign="●" if effect.clear else "○")

    @on(DrawnList.Moved)
    def moved(self, event: DrawnList.Moved) -> None:
        """Say the effect in words."""
        self.query_one("#sentence", Static).update(Content(effect_words(event.row)))

    @on(DrawnList.Opened)
    def open(self, event: DrawnList.Opened) -> None:
        """Show all effects as text."""
        from panel.words.influence_words import effect_lines

        lines = effect_lines(self.result, self.note.descriptor, WORDS_WIDTH)
        self.app.push_screen(ReadSlip(self.note.descriptor, lines))


def reach_of(effects: Sequence[Effect]) -> float:
    """Return how far the line has to go to either side of nought, in tens."""
    ends = [abs(end) for effect in effects for end in (effect.low, effect.high) if end is not None]
    return 10.0 * ceil(max(ends, default=10.0) / 10.0)


def effect_words(effect: Effect) -> str:
    """Return one effect in words."""
    from panel.words.influence_words import FACTORS

    name = f"{FACTORS[effect.factor]}, {effect.level}"
    if effect.estimate is None:
        return f"{name}: {effect.note or 'not known'}."
    said = f"{name}, against {effect.against}" if effect.against else name
    words = f"{said}: {in_digits(effect.estimate, '+.1f')} points"
    if effect.low is not None and effect.high is not None:
        words += f" ({in_digits(effect.low, '+.1f')} to {in_digits(effect.high, '+.1f')})"
        if effect.unclaimed:
            words += ", which is not claimed: over all notes and influences it may be chance"
        elif not effect.clear:
            words += ", so that even its direction is in doubt"
    return f"{words}. {effect.n_casks} casks.{f' {effect.note}.' if effect.note else ''}"


def drawn_effects(result: Influences, descriptor: str) -> Drawn | None:
    """Return what the effects on a note are drawn from; None where nothing is told of it."""
    from panel.pictures.influences import moved

    drawn = moved(result, descriptor)
    return (f"What moves {descriptor}", lambda _db: drawn) if drawn else None

"""Score files, long or wide, to glasses, lines and cells.

A score file repeats itself: a glass stands in as many rows as there are descriptors, a descriptor
in as many as there are glasses. So each distinct glass and each distinct line is checked once, and
a row is three numbers: which glass, which line, which score.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from operator import itemgetter
from typing import Annotated, Any, NamedTuple

from pydantic import BeforeValidator, ValidationError

from panel.intake.cells import (
    ANY_NUMBER,
    SAID_BEFORE,
    FromOne,
    Name,
    OneOf,
    OptionalFromOne,
    OptionalName,
    OptionalPastDay,
    RowModel,
    Whole,
    fault,
    need_name,
    read_text,
)
from panel.intake.columns import Columns, rows_adapter
from panel.intake.decimals import parse_number
from panel.intake.partly import read_partly
from panel.intake.table import BrokenCell, Table
from panel.kinds import IN_TRAINING, KNEW_KEY, GlassKind, ServingStatus
from panel.problems import Problem
from panel.store.word_text import plain_word, word_fault

ONE_STATUS = OneOf(ServingStatus)
NEEDED = ("session", "assessor", "sample")
OF_A_GLASS = (*("replicate", "held_on", "position", "cask", "kind", "flight", "pouring", "status"),)
OF_A_LINE = ("version", "scale_low", "scale_high")
LONG_ONLY = ("descriptor", "score")
NUMBERS = frozenset({"replicate", "position", "flight", "pouring", *OF_A_LINE})

COLUMNS = Columns(
    required=(*NEEDED, *LONG_ONLY), optional=(*OF_A_GLASS, *OF_A_LINE), numbers=NUMBERS | {"score"}
)
OWN = Columns(
    required=(*NEEDED, "word", "score"),
    optional=OF_A_GLASS,
    numbers=frozenset({"replicate", "position", "flight", "pouring", "score"}),
)
WIDE = Columns(required=NEEDED, optional=(*OF_A_GLASS, *OF_A_LINE), numbers=NUMBERS, open=True)


def is_wide(headings: Sequence[str]) -> bool:
    """Say whether every further column is a descriptor."""
    return not set(headings) & set(LONG_ONLY) and bool(set(headings) - set(COLUMNS.known))


class GlassMark(NamedTuple):
    """What the lead made of a glass, and whether its assessor had seen the key or was in training.

    Of training the records tell by themselves: in a file it says so to whoever reads that alone.
    """

    status: ServingStatus = ServingStatus.KEPT
    knew_key: bool = False
    in_training: bool = False

    def words(self) -> str:
        """Return the cell that reads back as this."""
        kept = self.status is ServingStatus.KEPT
        parts = [
            *([] if kept else [self.status.value]),
            *([KNEW_KEY] if self.knew_key else []),
            *([IN_TRAINING] if self.in_training else []),
        ]
        return "+".join(parts) or self.status.value


def read_state(text: str | None) -> GlassMark:
    """Return the state of a glass: `kept`, `void`, ... , `knew_key`, or several joined by `+`."""
    cell = read_text(text)
    if cell is None:
        return GlassMark()
    parts = [part.strip() for part in cell.split("+")]
    of_person = (KNEW_KEY, IN_TRAINING)
    others = [part for part in parts if part not in of_person]
    if len(others) > 1:
        with_or_without = " or ".join(f"+{part}" for part in of_person)
        raise fault(f"one of {', '.join(ServingStatus)}, with or without {with_or_without}")
    status = ServingStatus(ONE_STATUS(others[0])) if others else ServingStatus.KEPT
    return GlassMark(status, KNEW_KEY in parts, IN_TRAINING in parts)


class GlassRow(RowModel):
    """One glass of one assessor, as a row tells it."""

    session: Name
    assessor: Name
    sample: Name
    replicate: FromOne = 1
    held_on: OptionalPastDay = None
    position: Annotated[int | None, BeforeValidator(Whole(0))] = None
    cask: OptionalName = None
    kind: Annotated[GlassKind | None, BeforeValidator(OneOf(GlassKind).read)] = None
    flight: FromOne = 1
    pouring: FromOne = 1
    status: Annotated[GlassMark, BeforeValidator(read_state)] = GlassMark()


class LineRow(RowModel):
    """One descriptor of a score sheet with its scale, as a row tells it."""

    descriptor: Name
    version: OptionalFromOne = None
    scale_low: Annotated[float | None, BeforeValidator(ANY_NUMBER.read)] = None
    scale_high: Annotated[float | None, BeforeValidator(ANY_NUMBER.read)] = None


def need_word(text: str | None) -> str:
    """Return an own word as it is kept, from a cell that must not be empty."""
    word = plain_word(need_name(text))
    if wrong := word_fault(word):
        raise fault(wrong)
    return word


class OwnWordRow(RowModel):
    """One word of an assessor's own, as a row tells it; whose it is stands with the glass."""

    word: Annotated[str, BeforeValidator(need_word)]


class CellFault(NamedTuple):
    """What is wrong with a cell that many rows may share."""

    column: str
    value: str
    message: str


class Cell(NamedTuple):
    """One score: its row, its glass and line by number, the value (None where left empty)."""

    row: int
    glass: int
    line: int
    value: float | None
    column: str


RawRow = dict[str, Any]
Glass = GlassRow | list[CellFault]
Line = LineRow | list[CellFault]


@dataclass
class ScoreFile:
    """A score file whose cells are checked; a glass or line with faults carries them instead."""

    wide: bool
    glasses: list[Glass] = field(default_factory=list)
    lines: list[Line] = field(default_factory=list)
    cells: list[Cell] = field(default_factory=list)
    unsound_glasses: dict[int, RawRow] = field(default_factory=dict)
    unsound_lines: dict[int, RawRow] = field(default_factory=dict)
    glasses_partly: dict[int, GlassRow] = field(default_factory=dict)
    lines_partly: dict[int, RowModel] = field(default_factory=dict)
    """Glasses and lines with faults, as far as they can be read."""

    def told(self, cell: Cell) -> tuple[object, ...] | None:
        """Return what a cell says of which score it is, None where that cannot be read.

        Two cells that say the same are one score twice, whatever else is wrong with their rows.
        """
        glass, line = self.glasses[cell.glass], self._line(cell.line)
        row = glass if isinstance(glass, GlassRow) else self.glasses_partly[cell.glass]
        try:
            place = (row.session, row.assessor, row.sample, row.replicate, row.pouring)
            return (*place, line.word if isinstance(line, OwnWordRow) else line.descriptor)
        except AttributeError:
            return None

    def _line(self, number: int) -> Any:
        line = self.lines[number]
        return self.lines_partly[number] if isinstance(line, list) else line


@dataclass
class OwnScoreFile(ScoreFile):
    """A file of scores on own words: `words` stand in the place of the lines."""

    words: list[OwnWordRow | list[CellFault]] = field(default_factory=list)

    def _line(self, number: int) -> Any:
        word = self.words[number]
        return self.lines_partly[number] if isinstance(word, list) else word


def read_scores(table: Table, today: date) -> tuple[ScoreFile, list[Problem]]:
    """Return the glasses, lines and scores of a table, and the scores that are no numbers."""
    file = ScoreFile(is_wide(table.headings))
    lines, problems = _read_cells(file, table, LineRow, today)
    file.lines = lines.checked(today)
    file.unsound_lines, file.lines_partly = lines.unsound, lines.partly
    return file, problems


def read_own_scores(table: Table, today: date) -> tuple[OwnScoreFile, list[Problem]]:
    """Return the glasses, own words and scores of a table, and the scores that are no numbers."""
    file = OwnScoreFile(wide=False)
    words, problems = _read_cells(file, table, OwnWordRow, today)
    file.words = words.checked(today)
    file.lines_partly = words.partly
    return file, problems


def _read_cells(
    file: ScoreFile, table: Table, model: type[RowModel], today: date
) -> tuple[_Distinct, list[Problem]]:
    glasses, lines = _Distinct(table, GlassRow), _Distinct(table, model)
    scores = _Scores({"": None})
    problems: list[Problem] = []
    columns = _score_columns(table, wide=file.wide)
    for row in table.rows:
        glass = glasses.number(row.cells, "", row.number)
        for place, column in columns:
            value = scores[row.cells[place]]
            line = lines.number(row.cells, column if file.wide else "", row.number)
            if isinstance(value, str):
                problems.append(Problem(table.file, row.number, column, row.cells[place], value))
                value = None
            file.cells.append(Cell(row.number, glass, line, value, column))
    file.glasses = glasses.checked(today)
    file.unsound_glasses, file.glasses_partly = glasses.unsound, glasses.partly
    return lines, problems


def _score_columns(table: Table, *, wide: bool) -> list[tuple[int, str]]:
    if not wide:
        return [(i, heading) for i, heading in enumerate(table.headings) if heading == "score"]
    known = set(COLUMNS.known)
    return [(i, h) for i, h in enumerate(table.headings) if h and h not in known]


class _Scores(dict[str, float | str | None]):
    """The number of each distinct cell, or what is wrong with it."""

    def __missing__(self, text: str) -> float | str | None:
        value = self[text] = _score(text)
        return value


def _score(text: str) -> float | str:
    if isinstance(text, BrokenCell):
        return text.words
    try:
        return parse_number(text)
    except ValueError as error:
        return str(error)


class _Distinct:
    """Numbers the distinct combinations of some columns' cells."""

    def __init__(self, table: Table, model: type[RowModel]) -> None:
        self.model = model
        self.names = [h for h in table.headings if h in model.model_fields]
        self.places = [i for i, h in enumerate(table.headings) if h in model.model_fields]
        self.pick = itemgetter(*self.places) if len(self.places) > 1 else self._pick_few
        self.numbers: dict[tuple[object, str], int] = {}
        self.raw: list[RawRow] = []
        self.unsound: dict[int, RawRow] = {}
        self.partly: dict[int, Any] = {}

    def _pick_few(self, cells: Sequence[str]) -> tuple[str, ...]:
        return tuple(cells[i] for i in self.places)

    def number(self, cells: Sequence[str], heading: str, row: int) -> int:
        """Return the number of a row's combination (under a descriptor's *heading*)."""
        key = (self.pick(cells), heading)
        number = self.numbers.get(key)
        if number is None:
            number = self.numbers[key] = len(self.raw)
            raw: RawRow = {"at": row}
            raw |= {name: cells[i] for name, i in zip(self.names, self.places, strict=True)}
            self.raw.append({**raw, "descriptor": heading} if heading else raw)
        return number

    def checked(self, today: date) -> list[Any]:
        """Return a row for each combination, or its faults."""
        adapter, context = rows_adapter(self.model), {"today": today}
        try:
            return adapter.validate_python(self.raw, context=context)
        except ValidationError as error:
            faults = dict(self._faults(error))
        sound = [raw for i, raw in enumerate(self.raw) if i not in faults]
        self.unsound = {i: self.raw[i] for i in faults}
        self.partly = {i: read_partly(self.model, self.raw[i], today) for i in faults}
        rows = iter(adapter.validate_python(sound, context=context))
        return [faults[i] if i in faults else next(rows) for i in range(len(self.raw))]

    def _faults(self, error: ValidationError) -> Iterator[tuple[int, list[CellFault]]]:
        found: dict[int, list[CellFault]] = {}
        for detail in error.errors(include_url=False):
            number, name = int(detail["loc"][0]), str(detail["loc"][-1])
            faults = found.setdefault(number, [])
            if detail["type"] not in {"missing", SAID_BEFORE}:
                faults.append(CellFault(name, str(self.raw[number].get(name, "")), detail["msg"]))
        return iter(found.items())

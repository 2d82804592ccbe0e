"""The cells of a score file against the recorded scores: new, changed, the same, or at fault."""

from __future__ import annotations

from dataclasses import dataclass, field

from panel.figures import in_digits
from panel.intake.load import Load, RowOutcome
from panel.intake.own_lines import OwnLines
from panel.intake.score_glasses import ToldGlass, how_to_update
from panel.intake.score_lines import Sheets
from panel.intake.score_rows import Cell, CellFault, ScoreFile
from panel.intake.score_sessions import LoadedGlass, ScoreLine, SheetLine
from panel.intake.score_writing import Changes

PROGRESS_EVERY = 20_000


def compare(
    load: Load,
    file: ScoreFile,
    glasses: list[ToldGlass],
    lines: Sheets | OwnLines,
    recorded: dict[tuple[int, int], float],
) -> Changes:
    """Return the scores of a file that differ from the recorded ones; faults go to the load."""
    comparison = _Comparison(load, file, glasses, lines, recorded)
    total = len(file.cells)
    for done, cell in enumerate(file.cells):
        comparison.take(cell)
        if not done % PROGRESS_EVERY:
            load.progress(done, 2 * total)
    comparison.finish()
    return comparison.changes


@dataclass
class _Comparison:
    """Takes one cell after the other; a row's outcome is the most that happened in it."""

    load: Load
    file: ScoreFile
    glasses: list[ToldGlass]
    lines: Sheets | OwnLines
    recorded: dict[tuple[int, int], float]
    changes: Changes = field(default_factory=Changes)
    rows: dict[tuple[int, int], int] = field(default_factory=dict)
    row: int = -1
    is_new: bool = False
    is_changed: bool = False
    twin: bool = False
    told: dict[tuple[object, ...], tuple[int, bool]] = field(default_factory=dict)
    some_faulty: bool = False

    def __post_init__(self) -> None:
        """Look whether cells have to be told apart by what they say of themselves."""
        apart = any(told.glass is None for told in self.glasses)
        self.some_faulty = apart or bool(self.file.lines_partly)

    def take(self, cell: Cell) -> None:
        told = self.glasses[cell.glass]
        if cell.row != self.row:
            self._next_row(cell, told)
        line = self.lines.at(told, cell)
        if isinstance(line, list):
            self._fault_all(cell.row, line)
        elif line is not None:
            self._settle(cell, told.glass, line)
        if self.some_faulty and not self.twin:
            self._told_twice(cell, sound=told.glass is not None and not isinstance(line, list))

    def finish(self) -> None:
        if self.row >= 0 and not self.load.problems:
            if self.is_new:
                self.load.count(RowOutcome.NEW)
            elif self.is_changed:
                self.load.count(RowOutcome.CHANGED)
            else:
                self.load.count(RowOutcome.UNCHANGED)

    def _next_row(self, cell: Cell, told: ToldGlass) -> None:
        self.finish()
        self.row, self.twin = cell.row, False
        self._fault_all(cell.row, told.faults)
        glass = told.glass
        self.is_new = glass is not None and glass.serving_id is None
        self.is_changed = glass is not None and glass.changed

    def _fault_all(self, row: int, faults: list[CellFault]) -> None:
        for fault in faults:
            self.load.fault(row, *fault)

    def _settle(self, cell: Cell, glass: LoadedGlass | None, line: ScoreLine) -> None:
        value = cell.value
        if value is not None and not line.low <= value <= line.high:
            self._off_scale(cell, line)
        if glass is None or self._is_twin(cell, glass, line):
            return
        before = None
        if glass.serving_id is not None and line.record is not None:
            before = self.recorded.get((glass.serving_id, line.number))
        self.is_new = self.is_new or line.record is None
        if value == before:
            return
        if before is not None:
            self._differs(cell, glass, line, before)
        elif glass.session.held_here:
            words = "no score is recorded; the session was held here, so that its record stays"
            self.load.fault(cell.row, cell.column, _plain(value), words)
        else:
            self.is_new = True
            self.changes.new.append((glass, line, value))

    def _is_twin(self, cell: Cell, glass: LoadedGlass, line: ScoreLine) -> bool:
        key = (id(glass), id(line))
        first = self.rows.setdefault(key, cell.row)
        if first == cell.row and not self.twin:
            return False
        if not self.twin:
            self.twin = self.file.wide
            self._fault_twin(cell, first, glass.replicate)
        return True

    def _told_twice(self, cell: Cell, *, sound: bool) -> None:
        """Note a score that another row has as well, where one of the two has other faults."""
        key = self.file.told(cell)
        if key is None:
            return
        first, was_sound = self.told.setdefault(key, (cell.row, sound))
        if first != cell.row and not (sound and was_sound):
            self.twin = True
            self._fault_twin(cell, first, key[3])

    def _fault_twin(self, cell: Cell, first: int, replicate: object) -> None:
        what = "session, assessor, sample" + ("" if self.file.wide else f", {self.lines.what}")
        words = f"row {first} has the same {what} and replicate: a second glass is replicate 2"
        self.load.fault(cell.row, "replicate", replicate, words)

    def _differs(self, cell: Cell, glass: LoadedGlass, line: ScoreLine, before: float) -> None:
        said = "nothing" if cell.value is None else _plain(cell.value)
        if glass.session.held_here or not self.load.update:
            wrong = f"recorded is {_plain(before)}, not {said}"
            words = how_to_update(wrong, glass.session)
            self.load.fault(cell.row, cell.column, _plain(cell.value), words)
            return
        self.is_changed = True
        self.changes.replaced.append((glass, line, before, cell.value))

    def _off_scale(self, cell: Cell, line: ScoreLine) -> None:
        words = (
            f"the scale of {line.name} runs from {in_digits(line.low, 'g')} to "
            f"{in_digits(line.high, 'g')} here"
        )
        if isinstance(line, SheetLine):
            words += "; give another in the columns scale_low and scale_high"
        self.load.fault(cell.row, cell.column, _plain(cell.value), words)


def _plain(value: float | None) -> str:
    return "" if value is None else f"{value:.15g}"

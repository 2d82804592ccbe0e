"""The score sheets of a score file: which descriptors, in which version, on which scale."""

from __future__ import annotations

from dataclasses import dataclass, field

from panel.figures import in_digits
from panel.intake.load import Load
from panel.intake.score_glasses import ToldGlass
from panel.intake.score_names import Names
from panel.intake.score_rows import Cell, CellFault, LineRow, ScoreFile
from panel.intake.score_sessions import SessionState, SheetLine
from panel.kinds import USUAL_SCALE
from panel.store.lexicon import Descriptor, DescriptorVersion


@dataclass
class Sheets:
    """Finds or makes the sheet line of each session that each distinct line belongs to."""

    load: Load
    names: Names
    file: ScoreFile
    descriptors: list[Descriptor | list[CellFault]] = field(default_factory=list)
    what = "descriptor"
    found: dict[tuple[str, int], SheetLine | list[CellFault]] = field(default_factory=dict)

    def lay_out(self, glasses: list[ToldGlass]) -> None:
        """Settle the lines of each session in the order of the file.

        In a wide file a column stands for a session only if the session has a score in it.
        """
        self.descriptors = [self._descriptor(row) for row in self.file.lines]
        for number, raw in self.file.unsound_lines.items():
            self.descriptors[number] = [*self.file.lines[number], *self.names.unknown_in(raw)]
        wanted: dict[tuple[str, int], tuple[SessionState, int]] = {}
        for cell in self.file.cells:
            state = glasses[cell.glass].session
            if state is not None and (cell.value is not None or not self.file.wide):
                wanted.setdefault((state.name, cell.line), (state, cell.row))
        order = list(wanted.items())
        if self.file.wide:
            order.sort(key=lambda item: item[0][1])
        for (name, line), (state, row) in order:
            self.found[name, line] = self._line(state, line, row)

    def at(self, told: ToldGlass, cell: Cell) -> SheetLine | list[CellFault] | None:
        """Return the line of a cell, or what is wrong with it; None where its session is."""
        descriptor = self.descriptors[cell.line]
        if isinstance(descriptor, list):
            return descriptor
        if told.session is None:
            return self._alone(cell.line, descriptor)
        return self.found.get((told.session.name, cell.line))

    def _alone(self, number: int, descriptor: Descriptor) -> SheetLine | None:
        """The line of a glass whose session is not known: its score can still be off the line."""
        row = self.file.lines[number]
        if not isinstance(row, LineRow):
            return None
        low = USUAL_SCALE.low if row.scale_low is None else row.scale_low
        high = USUAL_SCALE.high if row.scale_high is None else row.scale_high
        return SheetLine(descriptor.versions[-1], low, high, row.at)

    def _descriptor(self, row: LineRow | list[CellFault]) -> Descriptor | list[CellFault]:
        if not isinstance(row, LineRow):
            return row
        descriptor = self.names.descriptor(row.descriptor)
        return [descriptor] if isinstance(descriptor, CellFault) else descriptor

    def _line(self, state: SessionState, number: int, row: int) -> SheetLine | list[CellFault]:
        told, descriptor = self.file.lines[number], self.descriptors[number]
        if not isinstance(told, LineRow) or isinstance(descriptor, list):
            return []
        line = state.lines.get(told.descriptor)
        if line is not None:
            return self._against(state, line, told) or line
        if state.held_here:
            words = f"session {state.name} was held here without this descriptor"
            return [CellFault("descriptor", told.descriptor, words)]
        version = self._version(state, told, descriptor)
        if isinstance(version, CellFault):
            return [version]
        scale = state.kind.facts.scale
        low = scale.low if told.scale_low is None else told.scale_low
        high = scale.high if told.scale_high is None else told.scale_high
        if high <= low:
            words = f"the scale must end above its beginning ({in_digits(low, 'g')})"
            return [CellFault("scale_high", in_digits(high, "g"), words)]
        state.lines[told.descriptor] = SheetLine(version, low, high, row)
        return state.lines[told.descriptor]

    def _version(
        self, state: SessionState, told: LineRow, descriptor: Descriptor
    ) -> DescriptorVersion | CellFault:
        if told.version is not None:
            for version in descriptor.versions:
                if version.version == told.version:
                    return version
            known = ", ".join(str(version.version) for version in descriptor.versions)
            words = f"{descriptor.name} has no such version; there are: {known}"
            return CellFault("version", str(told.version), words)
        held_on = state.held_on
        meant = [
            version
            for version in descriptor.versions
            if held_on is None or version.introduced_on is None or version.introduced_on <= held_on
        ]
        return (meant or descriptor.versions[:1])[-1]

    def _against(self, state: SessionState, line: SheetLine, told: LineRow) -> list[CellFault]:
        where = f"row {line.first_row}" if line.first_row else "the record"
        pairs = [
            ("version", line.version.version, told.version, "version"),
            ("scale_low", line.low, told.scale_low, "a scale from"),
            ("scale_high", line.high, told.scale_high, "a scale up to"),
        ]
        return [
            CellFault(
                column,
                in_digits(after, "g"),
                f"{where} gives {told.descriptor} {words} {in_digits(before, 'g')} in "
                f"session {state.name}",
            )
            for column, before, after, words in pairs
            if after is not None and after != before
        ]

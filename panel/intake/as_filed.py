"""A file as its house wrote it, so that faults are told under its own headings and in its words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

from panel.intake.columns import plain_heading

if TYPE_CHECKING:
    from panel.intake.table import Table
    from panel.problems import Problem


@dataclass(frozen=True)
class AsFiled:
    """A table before its headings and cells were put into ours, and our headings for it."""

    table: Table
    ours: Sequence[str]

    def told(self, problems: Iterable[Problem]) -> tuple[Problem, ...]:
        """Return the faults with the file's own heading and cell where they are not as ours."""
        return tuple(self._told(problem) for problem in problems)

    def _told(self, problem: Problem) -> Problem:
        places = self._places.get(plain_heading(problem.column), ())
        own = [self.table.headings[place] for place in places]
        mapped = any(plain_heading(heading) != plain_heading(problem.column) for heading in own)
        cell = self._cell(problem.row, places[0]) if problem.value and len(places) == 1 else ""
        return replace(
            problem,
            heading=" and ".join(own) if mapped else "",
            cell=cell if cell != problem.value else "",
        )

    def _cell(self, row: int | None, place: int) -> str:
        cells = self._rows.get(row) if row is not None else None
        return str(cells[place]) if cells else ""

    @cached_property
    def _places(self) -> Mapping[str, list[int]]:
        found: dict[str, list[int]] = {}
        for place, heading in enumerate(self.ours):
            if heading:
                found.setdefault(plain_heading(heading), []).append(place)
        return found

    @cached_property
    def _rows(self) -> Mapping[int, Sequence[str]]:
        return {row.number: row.cells for row in self.table.rows}

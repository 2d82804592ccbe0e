"""How much a question needs, in words and columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.cell_text import cells
from analysis.chance_words import chance
from panel.figures import in_digits
from panel.words.answers import number, paragraph
from panel.words.columns import columns, columns_within

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.next_glasses import PowerRow, PowerTable

ENOUGH = 0.8
"""Power that is taken for enough: common practice, no source."""
KEY = (
    "found: chance that two casks so far apart, each nosed once a session by all, show some "
    "difference against the error of all casks on the tray. apart: chance that they are called "
    "surely apart by that same error, which is said of more than the house's tolerance "
    "(alike_tolerance); on one note asked about alone, among several more seldom. least: points "
    "that are called so 8 times in 10, - where none of the line are. loss: points by which a "
    "choice is off on average after so many glasses dealt evenly. a year: half the width, 95 "
    "times in 100, of what a note changes in a year."
)
ALIKE = frozenset({"people", "samples", "sessions", "glasses"})
"""Columns that are said once where they are alike in every row and the rows are too wide."""
FRESH = "Nothing was nosed yet: reckoned as for a panel that reads within 10 points a glass."


def power_lines(found: PowerTable, width: int = 80) -> list[str]:
    """Return it as lines of text."""
    lines = paragraph(power_sentence(found), width)
    lines += [] if found.learned else paragraph(FRESH, width)
    widths = {(w.note, w.casks, w.glasses): w for w in found.widths}
    rows = []
    for row in found.rows_of:
        casks = max(row.samples * row.sessions, 2)
        curve = widths[row.note, casks, casks * row.assessors]
        seen = "-" if row.simulated is None else chance(row.simulated)
        surely = "-" if row.beyond is None else chance(row.beyond)
        rows.append(
            (
                *(
                    row.note,
                    row.assessors,
                    row.samples,
                    row.sessions,
                    in_digits(row.glasses, ","),
                    seen,
                    surely,
                ),
                *(
                    number(row.smallest_beyond, 1),
                    number(row.loss, 2),
                    f"±{in_digits(curve.a_year, '.2f')}",
                ),
            )
        )
    headings = (
        *("note", "people", "samples", "sessions", "glasses", "found"),
        *("apart", "least", "loss", "a year"),
    )
    loss = f"The loss is that of choosing the best {found.best} of {found.casks} casks."
    once, shown, told = _once_said(headings, [[str(cell) for cell in row] for row in rows], width)
    return [
        *lines,
        "",
        *(paragraph(once, width) if once else []),
        *columns_within(shown, told, width),
        "",
        *paragraph(f"{KEY} {loss}", width),
    ]


def _once_said(
    headings: Sequence[str], rows: Sequence[Sequence[str]], width: int
) -> tuple[str, Sequence[str], Sequence[Sequence[str]]]:
    """Return what all rows have alike, as a sentence, and the other columns; all where they fit."""
    alike = {
        at: rows[0][at]
        for at, heading in enumerate(headings)
        if heading in ALIKE and len({row[at] for row in rows}) == 1
    }
    if not alike or max(map(cells, columns(headings, rows))) <= width:
        return "", headings, rows
    named = ", ".join(f"{headings[at]} {cell}" for at, cell in alike.items())
    left = [at for at in range(len(headings)) if at not in alike]
    return (
        f"In every row: {named}.",
        [headings[at] for at in left],
        [[row[at] for at in left] for row in rows],
    )


def power_sentence(found: PowerTable) -> str:
    """Return on how many notes each design finds two casks surely apart.

    Of no more than the tolerance it is said at most by mistake, whatever is poured.
    """
    of, tolerance = in_digits(found.points, "g"), in_digits(found.tolerance, "g")
    if found.points <= found.tolerance:
        return (
            f"Two casks {of} points apart are never rightly called surely apart, however many "
            f"glasses: that is said of more than {tolerance} (alike_tolerance). Ask about more "
            f"than {tolerance}."
        )
    designs: dict[tuple[int, int, int], list[PowerRow]] = {}
    for row in found.rows_of:
        designs.setdefault((row.assessors, row.samples, row.sessions), []).append(row)
    parts = [
        f"{_count(sessions, 'session')} of {_count(people, 'assessor')} "
        f"({in_digits(rows[0].glasses, ',')} glasses) on {_on(rows)}"
        for (people, _, sessions), rows in designs.items()
    ]
    return (
        f"Two casks {of} points apart are called surely more than {tolerance} apart 8 times in 10 "
        f"by {'; by '.join(parts)}."
    )


def _on(rows: list[PowerRow]) -> str:
    able = sum(row.beyond is not None and row.beyond >= ENOUGH for row in rows)
    if len(rows) == 1:
        return f"{rows[0].note}: {'yes' if able else 'no'}"
    if able in {0, len(rows)}:
        return "every note" if able else "no note"
    return f"{able} of {len(rows)} notes"


def _count(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"

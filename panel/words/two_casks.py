"""Two casks held against each other, as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import judged_entry, number, paragraph, verdict_line
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.agreement import PairNote, TwoCasks

NAMED_BEFORE = (
    "This holds for two casks that were in question before anybody saw their means: of the nearest "
    "two in a flight it says alike too often."
)


BATCH_NAMED_BEFORE = (
    "This holds for the blends of two batches that were named before anybody nosed them: of many "
    "blends the one that came out nearest it would call alike too often."
)


def two_casks_lines(found: TwoCasks, width: int = 80, *, holds: str = NAMED_BEFORE) -> list[str]:
    """Return the verdict, each note that is not alike in a sentence, then the figures."""
    from analysis.agreement import PairWord

    lines = [*paragraph(verdict_line(found.verdict), width), ""]
    for note in found.notes:
        if note.verdict.word is not PairWord.ALIKE:
            lines += judged_entry(note.descriptor, note.verdict, width)
    headings = ("note", "apart", "se", "at most", "assessors", "sessions", "verdict")
    lines += [*columns(headings, [_figures(note) for note in found.notes]), ""]
    return [*lines, *paragraph(holds, width)]


def _figures(note: PairNote) -> tuple[str, ...]:
    return (
        *(note.descriptor, number(note.difference, 1), number(note.se, 1)),
        *(number(note.at_most, 1), str(note.n_assessors), str(note.n_sessions)),
        note.verdict.label,
    )

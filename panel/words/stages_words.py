"""What sessions with stages found, as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import number, paragraph, verdict_line
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.stages import StagedNote, Stages
    from panel.questions.stages import StagesFound

HEADINGS = ("sample", "nose", "arrival", "development", "finish", "finish to arrival (+5)")
NOT_YET = "Where its notes by stages lie is told after the reveal."


def stages_lines(found: StagesFound, width: int = 80) -> list[str]:
    """Return what is said of each note by stages, its means, then the figures."""
    if found.stages is None:
        return [*paragraph(NOT_YET, width), ""]
    lines: list[str] = []
    for note in found.stages.notes:
        lines += [f"{note.note}, by stages"]
        for verdict in note.verdicts:
            lines += paragraph(verdict_line(verdict), width)
        lines += ["", *columns(HEADINGS, staged_rows(note)), ""]
    for said in stages_figures(found.stages):
        lines += paragraph(said, width)
    return [*lines, ""]


def staged_rows(note: StagedNote) -> list[tuple[str, ...]]:
    """Return the samples with the means of their stages."""
    return [
        (
            one.sample,
            number(one.means.nose.mean, 0),
            number(one.means.arrival.mean, 0),
            number(one.means.development.mean, 0),
            number(one.means.finish.mean, 0),
            one.finish_to_arrival,
        )
        for one in note.samples
    ]


def stages_figures(found: Stages) -> list[str]:
    """Return the figures behind a finding as sentences."""
    return list(found.figures())

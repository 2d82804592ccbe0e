"""The page of a session with stages: that of its agreement, and where its notes lie."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panel.report.html import to_html
from panel.report.session import session_report_of
from panel.report.values import Column, Section, Table, sentences
from panel.words.stages_words import HEADINGS, NOT_YET, staged_rows, stages_figures

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analysis.pictures import Picture, Plane
    from panel.questions.stages import StagesFound
    from panel.questions.stands_on import StandsOn
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

HOW = (
    "By stages: a note is scored at the nose, on arrival, in development and in the finish. The "
    "words go by the log ratio of finish to arrival, 5 points added to both, averaged over "
    "assessors; it hardly moves where only the amount of a note doubles, unless a score lies near "
    "an end of the line. Intervals hold 95 times in 100, those of pairs all together 97.",
    "Of a note by stages the score at the stage that it belongs to in the lexicon counts in the "
    "house's profile; what was scored at the others stands here alone.",
)


def stages_page(
    found: StagesFound,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture | Plane, ...] = (),
) -> str:
    """Return the page of a session with stages."""
    usual = session_report_of(found.agreement, facts, stands, reader=reader, pictures=pictures)
    return to_html(
        replace(
            usual,
            sections=(*_sections(found), *usual.sections),
            reckoned=(*usual.reckoned, *sentences(*HOW)),
        )
    )


def _sections(found: StagesFound) -> Iterator[Section]:
    if found.stages is None:
        yield Section("By stages", sentences(NOT_YET))
        return
    name, *figures = HEADINGS
    columns = (Column(name), *(Column(each, figures=True) for each in figures))
    under = "Means over assessors; finish to arrival with its interval."
    for note in found.stages.notes:
        said = sentences(*(verdict.sentence for verdict in note.verdicts))
        table = Table("", columns, staged_rows(note), under)
        yield Section(f"{note.note} by stages", said, tables=(table,))
    if beside := stages_figures(found.stages):
        yield Section("What the stages rest on", sentences(*beside))

"""The page of the panel over time, for its lead: can it be trusted, and where is it going."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import Reader
from panel.report.values import (
    Column,
    Opening,
    Report,
    Said,
    Section,
    Table,
    sentences,
)
from panel.words.agreement_words import NO_REFERENCE
from panel.words.left_out import before_words, left_out_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from analysis.agreement import Span
    from analysis.pictures import Picture, Plane
    from panel.questions.stands_on import StandsOn

SESSION_COLUMNS = (
    Column("session"),
    Column("held on"),
    Column("verdict"),
    Column("notes safe to act on"),
    Column("assessors", figures=True),
    Column("samples", figures=True),
)
SOURCES = (
    "Sums of evidence over every start: Shiryaev (1963); Roberts (1966), Technometrics 8:411-430.",
    "How long such a sum goes without a false alarm: Pollak (1987), Ann. Stat. 15:749-779.",
)


def panel_page(
    found: Span,
    stands: StandsOn,
    *,
    pictures: Sequence[Picture | Plane] = (),
    late: Sequence[str] = (),
) -> str:
    """Return the page of several sessions, *late* what came after one was opened again.

    It speaks of each assessor by code.
    """
    return to_html(
        Report(
            kind="Panel",
            name=found.first if found.first == found.last else f"{found.first} to {found.last}",
            fact=f"Sessions: {len(found.sessions)}; scores: {in_digits(found.n_scores, ',')}.",
            reader=Reader.LEAD.words,
            opening=Opening("", sentences(found.sentence, before_words(found) or None, *late)),
            pictures=tuple(pictures),
            sections=tuple(_sections(found)),
            reckoned=tuple(_reckoned(found)),
            sources=SOURCES,
            cautions=CARE,
            foot=foot(stands),
        )
    )


def _sections(found: Span) -> Iterator[Section]:
    rows = [
        (
            *(line.session, line.held_on or "-", line.label or "not judged"),
            *(f"{line.n_safe} of {line.n_descriptors}", str(line.n_assessors)),
            str(line.n_samples),
        )
        for line in found.sessions
    ]
    unjudged = tuple(
        Said(line.session, "not judged", (line.sentence,))
        for line in found.sessions
        if line.verdict is None
    )
    yield Section("Session by session", said=unjudged, tables=(Table("", SESSION_COLUMNS, rows),))
    yield Section("The panel as a whole", _panel(found))
    notes = tuple(
        Said(note.descriptor, note.verdict.label, (note.verdict.sentence,))
        for note in found.descriptors
    )
    yield Section("Note by note", said=notes)
    people = tuple(
        Said(one.assessor, one.verdict.label, (one.verdict.sentence,)) for one in found.assessors
    )
    yield Section("The assessors, in the order of their codes", said=people)


def _panel(found: Span) -> tuple[str, ...]:
    if found.drift is None:
        return (NO_REFERENCE,)
    reason = None if found.drift.reason is None else f"Hidden reference: {found.drift.reason}."
    moving = found.drift.verdict.sentence if found.drift.verdict else None
    said = sentences(moving, reason)
    return said or ("It is not moving on its hidden reference.",)


def _reckoned(found: Span) -> Iterator[str]:
    yield (
        "Words on notes and people go by one model over the sessions; what a session alone said "
        "stands in its own page. Somebody has moved where the evidence for a step in their scores, "
        "beside the others on the same glasses and summed over every session at which it could "
        "have begun, is over 2,000 (on one note, over 2,000 a note); the panel as a whole is held "
        f"against its reference. Seed: {found.seed}. {left_out_words(found.left_out)}".strip()
    )
    yield (
        "Nobody is ranked. Scores are personal data: they are kept for the quality of the panel "
        "and for nothing else, and nobody's pay hangs on them."
    )

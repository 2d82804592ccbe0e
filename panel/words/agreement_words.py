"""Agreement as lines of text: swaps, small panels, several sessions, own words, one evening."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from math import isfinite
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.answers import (
    INDENT,
    entry,
    judged_entry,
    number,
    paragraph,
    private_lines,
    verdict_line,
)
from panel.words.columns import columns
from panel.words.left_out import before_words, left_out_words

if TYPE_CHECKING:
    from analysis.agreement import (
        AssessorAgreement,
        AssessorWord,
        DescriptorAgreement,
        Drift,
        EveningNote,
        Span,
        SpanAssessor,
        SpanDescriptor,
        SpanSession,
        SwapCheck,
        Waiting,
    )
    from analysis.agreement.own_words import OwnWords, PlacedWord
    from panel.questions.own_words import WordsFound


@cache
def _short() -> dict[AssessorWord, str]:
    from analysis.agreement import AssessorWord

    return {
        AssessorWord.WITH: "with panel",
        AssessorWord.WIDER: "wider line",
        AssessorWord.NARROWER: "narrower line",
        AssessorWord.UNSTEADY: "less steady",
        AssessorWord.REVERSED: "opposite way",
        AssessorWord.FLAT: "not separated",
        AssessorWord.CANNOT_TELL: "cannot tell",
    }


def short_word(word: AssessorWord | None) -> str:
    """Return a verdict on an assessor as it fits a narrow table."""
    return "-" if word is None else _short().get(word, str(word))


def over_sessions_lines(
    part: DescriptorAgreement | AssessorAgreement, width: int = 80
) -> list[str]:
    """Return what the sessions to date say beside this one."""
    said = part.over_sessions_sentence
    return paragraph(said, width, INDENT) if said else []


def swap_lines(swaps: Sequence[SwapCheck], width: int = 80) -> list[str]:
    """Return what hangs on glasses that read as exchanged."""
    if not swaps:
        return []
    lines = ["", "Glasses that may have changed places:"]
    for swap in swaps:
        lines += paragraph(swap.sentence, width, INDENT)
    return lines


def waiting_lines(waiting: Waiting | None, width: int = 80) -> list[str]:
    """Return how many scores wait for a suspected swap, and what would be said with them."""
    return [] if waiting is None else [*paragraph(waiting.sentence, width), ""]


def index_lines(note: DescriptorAgreement, width: int = 80) -> list[str]:
    """Return the indices of one descriptor, each with the question it answers."""
    from analysis.agreement import ICC_QUESTIONS

    lines = ["", "Intraclass correlations:"]
    if note.icc is None:
        lines += paragraph(note.icc_note or "none", width, INDENT)
    else:
        bounds = note.icc_bounds or {}
        for form, value in note.icc.items():
            said = f"{form}  {_icc(value, *bounds.get(form, (None, None)))}: {ICC_QUESTIONS[form]}?"
            lines += paragraph(said, width, INDENT)
        lines += paragraph(note.icc_note, width, INDENT) if note.icc_note else []
    return lines + _holes(note, width)


def _icc(value: float, low: float | None, high: float | None) -> str:
    """A correlation with its interval, as far as there is one."""
    if not isfinite(value):
        return "cannot be told, the assessors cancel each other out"
    if low is None or high is None:
        return in_digits(value, ".2f")
    if not isfinite(low):
        return f"{in_digits(value, '.2f')} (at most {in_digits(high, '.2f')})"
    return f"{in_digits(value, '.2f')} ({in_digits(low, '.2f')} to {in_digits(high, '.2f')})"


def _holes(note: DescriptorAgreement, width: int) -> list[str]:
    """Return what needs no complete table."""
    lines: list[str] = []
    if note.icc_unbalanced is not None:
        parts = ", ".join(
            (f"{form} {in_digits(value, '.2f')}") for form, value in note.icc_unbalanced.items()
        )
        lines += paragraph(f"Over all assessors, holes and all: {parts}.", width, INDENT)
    test = note.rank_test
    if test is not None:
        said = (
            f"Order of the samples: chi2 {in_digits(test.chi2, '.2f')}, df "
            f"{test.df}, p {in_digits(test.p, '.3g')}"
        )
        if test.f is not None and test.f_p is not None:
            said += f"; F {in_digits(test.f, '.2f')}, p {in_digits(test.f_p, '.3g')}"
        lines += paragraph(f"{said} ({test.method}).", width, INDENT)
    return lines


def span_lines(result: Span, width: int = 80, *, private: bool = False) -> list[str]:
    """Return several sessions: one line each, then the notes and the assessors over all."""
    lines = paragraph(result.sentence, width)
    lines += paragraph(before_words(result), width) if result.before else []
    lines.append("")
    rows = [
        (
            *(line.session, line.held_on or "-", _line_word(line)),
            *(f"{line.n_safe} of {line.n_descriptors}", line.n_assessors, line.n_samples),
        )
        for line in result.sessions
    ]
    headings = ("session", "held on", "verdict", "safe", "assessors", "samples")
    lines += [*columns(headings, rows), ""]
    for line in result.sessions:
        if line.verdict is None:
            lines += entry(f"{line.session}: not judged", line.sentence, width)
    lines += _moving_panel(result, width)
    for note in result.descriptors:
        lines += judged_entry(note.descriptor, note.verdict, width)
    lines.append("")
    for person in result.assessors:
        lines += judged_entry(person.assessor, person.verdict, width)
    if private:
        lines += private_lines(result.private, width)
    return lines


def _line_word(line: SpanSession) -> str:
    return "not judged" if line.verdict is None else line.verdict.label


NO_REFERENCE = "No hidden reference was poured: whether everybody moves at once is not known."


def _moving_panel(result: Span, width: int) -> list[str]:
    drift = result.drift
    if drift is None:
        return paragraph(NO_REFERENCE, width)
    return entry("the panel", drift.verdict.sentence, width) if drift.verdict else []


def span_assessor_lines(person: SpanAssessor, width: int = 80) -> list[str]:
    """Return one assessor over several sessions: sentence first, then a line a descriptor."""
    lines = judged_entry(person.assessor, person.verdict, width)
    rows = [
        (
            *(note.descriptor, note.n_sessions, number(note.slope, 2)),
            *(number(note.signal_share, 2), number(note.repeat_sd, 1), _drift_word(note.drift)),
            *(note.n_missing, short_word(note.verdict)),
        )
        for note in person.notes
    ]
    headings = ("note", "told", "slope", "share", "repeat sd", "drift", "blank", "verdict")
    lines += ["", *columns(headings, rows)]
    return lines + drift_lines(person.drift, width)


def span_descriptor_lines(note: SpanDescriptor, width: int = 80) -> list[str]:
    """Return one descriptor over several sessions, and the panel's chart of the reference."""
    lines = judged_entry(note.descriptor, note.verdict, width)
    if note.over_sessions_note:
        lines += paragraph(f"{note.over_sessions_note}.".capitalize(), width, INDENT)
    return lines + drift_lines(note.drift, width)


def _drift_word(drift: Drift | None) -> str:
    if drift is None or drift.reason is not None:
        return "-"
    return "steady" if drift.direction is None else str(drift.direction)


def drift_lines(drift: Drift | None, width: int = 80) -> list[str]:
    """Return a chart over sessions as a table."""
    if drift is None:
        return []
    what = "Hidden reference" if drift.assessor is None else "Over all glasses"
    if drift.reason is not None:
        return ["", *paragraph(f"{what}: {drift.reason}.", width)]
    heading = (
        f"{what}: evidence for a movement {evidence_words(drift.evidence)} of "
        f"{number(drift.limit, 0)} asked; a session strays by {number(drift.sd, 1)} points."
    )
    lines = ["", *paragraph(heading, width)]
    lines += paragraph(drift.verdict.sentence, width) if drift.verdict else []
    lines += paragraph(drift.note, width) if drift.note else []
    rows = [
        (
            *(
                point.session,
                point.held_on or "-",
                in_digits(point.off, ".1f"),
                in_digits(point.average, ".1f"),
            ),
            evidence_words(point.evidence),
        )
        for point in drift.points
    ]
    return [*lines, *columns(("session", "held on", "off", "level", "evidence"), rows)]


MOST_WRITTEN = 1e6
"""Evidence above it is written as being above it."""


def evidence_words(evidence: float | None) -> str:
    """Return a sum of evidence as a table has room for it."""
    if evidence is None:
        return "-"
    return (
        (f"over {in_digits(MOST_WRITTEN, ',.0f')}")
        if evidence > MOST_WRITTEN
        else in_digits(evidence, ",.0f")
    )


def words_lines(found: WordsFound, width: int = 80) -> list[str]:
    """Return a session in own words: verdict, assessors, the map, the words."""
    result = found.result
    lines = [*paragraph(verdict_line(result.verdict), width), ""]
    lines += waiting_lines(result.waiting, width)
    for person in result.assessors:
        lines += judged_entry(person.assessor, person.verdict, width)
    lines += ["", *_map(result), "", *paragraph(second_opinion(result), width)]
    filled = filled_words(result)
    lines += paragraph(filled, width) if filled else []
    lines += paragraph(result.not_seen, width) if result.not_seen else []
    unused = left_out_words(result.left_out)
    lines += paragraph(unused, width) if unused else []
    lines += ["", "Words beside the notes of the house, for the lead to confirm:"]
    if result.house_reason is not None:
        lines += paragraph(f"{result.house_reason}.", width, INDENT)
    for word in result.words:
        lines += paragraph(word_words(word, found), width, INDENT)
    for gone in result.left_out_words:
        what = gone.assessor if gone.word is None else f"{gone.assessor}'s {gone.word!r}"
        lines += paragraph(f"{what} left out: {gone.reason}.", width, INDENT)
    return lines


def _map(result: OwnWords) -> list[str]:
    rows = [
        (
            place.sample,
            in_digits(place.x, ".2f"),
            in_digits(place.y, ".2f"),
            in_digits(place.spread, ".2f"),
        )
        for place in result.samples
    ]
    return columns(("sample", "across", "up", "spread"), rows)


def filled_words(result: OwnWords) -> str:
    """Return how many holes the map filled; nothing where there was none."""
    if not result.n_filled:
        return ""
    holes = f"{result.n_filled} lines nobody scored were filled from the map itself"
    return f"{holes}: they add nothing to it."


def second_opinion(result: OwnWords) -> str:
    """Return what the other way of laying the tables together says."""
    second = result.second_opinion
    return (
        f"Second opinion, tables turned onto one another: {second.consensus_percent:.0f} in 100 "
        f"held in common, p {in_digits(second.p, '.3g')} against rearranged tables."
    )


def word_words(word: PlacedWord, found: WordsFound) -> str:
    """Return what a word may be in the notes of the house, or what a lead has confirmed."""
    known = found.confirmed.get((word.assessor, word.word))
    if known is not None:
        return f"{word.assessor}'s {word.word!r} means {known} (confirmed)."
    return word.sentence


def evening_lines(note: EveningNote, width: int = 80, *, private: bool = False) -> list[str]:
    """Return the note of one assessor, to hand over or to send to nobody else."""
    lines = [f"For {note.assessor} alone, session {note.session}", ""]
    for part in (note.repeated, note.found, note.differ, note.progress, note.moving):
        for sentence in part:
            lines += paragraph(sentence, width)
        lines += [""] if part else []
    if private:
        for sentence in note.private:
            lines += [*paragraph(sentence, width), ""]
    lines += paragraph(f"Next: {note.next_action}.", width)
    return lines + (drift_lines(note.drift, width) if note.drift and not note.drift.reason else [])

"""The registry by kind of session of those who put answers into words: which lines it gets."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.kinds import SessionKind
from panel.words.agreement_words import index_lines, swap_lines, words_lines
from panel.words.answers import private_lines
from panel.words.passing_words import passing_lines
from panel.words.session_answer import agreement_lines, assessor_lines, descriptor_lines
from panel.words.sets_words import difference_lines, ranking_lines
from panel.words.stages_words import stages_lines
from panel.words.traces_words import traces_lines

if TYPE_CHECKING:
    from analysis.agreement import Agreement
    from panel.questions.own_words import WordsFound
    from panel.questions.passing import PassingAnswer
    from panel.questions.sets import DifferenceFound, RankingFound
    from panel.questions.stages import StagesFound
    from panel.questions.traces import TracesFound


@dataclass(frozen=True)
class Part:
    """Which part of a session's answer is wanted; all of it where nobody and nothing is named.

    `width` is that of the whole answer's lines, in columns; lines about one person or one note, and
    those of a passing session, have a width of their own.
    """

    assessor: str | None = None
    descriptor: str | None = None
    private: bool = False
    width: int = 80


def _agreement(result: Agreement, part: Part) -> list[str]:
    if part.assessor is None and part.descriptor is None:
        return agreement_lines(result, part.width, private=part.private)
    lines: list[str] = []
    if part.descriptor is not None:
        note = result.descriptor(part.descriptor)
        lines += [*descriptor_lines(note), *index_lines(note)]
    if part.assessor is not None:
        lines += assessor_lines(result.assessor(part.assessor))
        lines += swap_lines([swap for swap in result.swaps if swap.assessor == part.assessor])
        facts = [fact for fact in result.private if fact.assessor == part.assessor]
        lines += private_lines(facts) if part.private else []
    return lines


def _words(found: WordsFound, part: Part) -> list[str]:
    return words_lines(found, part.width)


def _passing(found: PassingAnswer, part: Part) -> list[str]:
    return passing_lines(found, part.assessor)


def _difference(found: DifferenceFound, part: Part) -> list[str]:
    return difference_lines(found, part.width)


def _ranking(found: RankingFound, part: Part) -> list[str]:
    return ranking_lines(found, part.width)


def _traces(found: TracesFound, part: Part) -> list[str]:
    return traces_lines(found, part.width)


def _stages(found: StagesFound, part: Part) -> list[str]:
    asked = part.assessor, part.descriptor
    lines = _agreement(found.agreement, part)
    return lines if any(asked) else [*stages_lines(found, part.width), *lines]


SESSION_LINES: dict[SessionKind, Callable[[Any, Part], list[str]]] = {
    SessionKind.PROFILE: _agreement,
    SessionKind.OWN_WORDS: _words,
    SessionKind.PASSING: _passing,
    SessionKind.STRONGER: _difference,
    SessionKind.TWO_AND_TWO: _difference,
    SessionKind.RANKING: _ranking,
    SessionKind.TRACE: _traces,
    SessionKind.ODD_ONE_OUT: _difference,
    SessionKind.LIKE_THE_FIRST: _difference,
    SessionKind.STAGES: _stages,
}
"""Each takes the answer that `panel.questions.kinds` gives for the same kind."""

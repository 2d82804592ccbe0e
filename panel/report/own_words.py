"""The page of a session in own words: what the panel's different words have in common."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import may_name
from panel.report.session import fact_words
from panel.report.values import Column, Opening, Report, Said, Section, Table, action, sentences
from panel.words.agreement_words import filled_words, second_opinion, word_words
from panel.words.left_out import left_out_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from analysis.pictures import Picture
    from panel.questions.own_words import WordsFound
    from panel.questions.stands_on import StandsOn
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

SOURCES = (
    "The common map is a multiple factor analysis: Escofier & Pages (1994), Computational "
    "Statistics & Data Analysis 18:121-140; holes filled as by Husson & Josse (2013), Food Quality "
    "and Preference.",
    "Weights of the assessors: Lavit, Escoufier, Sabatier & Traissac (1994), Computational "
    "Statistics & Data Analysis 18:97-119; second opinion: Gower (1975), Psychometrika 40:33-51.",
)


def own_words_page(
    found: WordsFound,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture, ...] = (),
) -> str:
    """Return the page of one session in own words."""
    result = found.result
    named = may_name(reader, result.n_assessors)
    waiting = result.waiting.sentence if result.waiting and named else None
    verdict = result.verdict
    return to_html(
        Report(
            kind="Session in own words",
            name=result.session,
            fact=fact_words(facts, result.n_assessors, result.n_samples, named=named),
            reader=reader.words,
            opening=Opening(
                verdict.label,
                sentences(f"{verdict.said}.", waiting),
                action(verdict.next_action),
            ),
            pictures=pictures,
            sections=tuple(_sections(found, named=named)),
            reckoned=sentences(
                f"It rests on {in_digits(result.n_scores, ',')} scores of "
                f"{in_digits(result.n_words, ',')} words. "
                f"{left_out_words(result.left_out)}".strip(),
                second_opinion(result),
                filled_words(result),
            ),
            sources=SOURCES,
            cautions=CARE,
            foot=foot(stands),
        )
    )


def _sections(found: WordsFound, *, named: bool) -> Iterator[Section]:
    result = found.result
    columns = (
        Column("sample"),
        Column("across", figures=True),
        Column("up", figures=True),
        Column("spread of the assessors", figures=True),
    )
    rows = [
        (p.sample, in_digits(p.x, ".2f"), in_digits(p.y, ".2f"), in_digits(p.spread, ".2f"))
        for p in result.samples
    ]
    note = "Places on the map that all assessors share; the units are the map's own."
    note = " ".join(sentences(note, result.not_seen))
    yield Section("Where the samples lie", tables=(Table("", columns, rows, note),))
    if not named:
        return
    people = tuple(
        Said(one.assessor, one.verdict.label, (one.verdict.sentence,)) for one in result.assessors
    )
    yield Section("The assessors", said=people)
    words = tuple(word_words(word, found) for word in result.words)
    why = None if result.house_reason is None else f"{result.house_reason}."
    yield Section("Words beside the notes of the house", sentences(why, *words))

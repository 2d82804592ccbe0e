"""The pages of sessions in sets: two products told apart, or several ranked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.report.common import CARE, foot
from panel.report.html import to_html
from panel.report.readers import may_name
from panel.report.session import fact_words
from panel.report.values import Column, Opening, Report, Section, Table, action, sentences
from panel.words.sets_words import difference_figures, ranked_rows, ranking_figures

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.questions.sets import DifferenceFound, RankingFound
    from panel.questions.stands_on import StandsOn
    from panel.report.readers import Reader
    from panel.session.facts import SessionFacts

DIFFERENCE_SOURCES = (
    "How far apart two products are: Thurstone (1927), Psychological Review 34:273-286; Ennis "
    "(1993), Journal of Sensory Studies 8:353-370. Tests and intervals are exact: Clopper & "
    "Pearson (1934), Biometrika 26:404-413.",
)
RANKING_SOURCES = (
    "Friedman (1937), Journal of the American Statistical Association 32:675-701; all pairs at "
    "once: Nemenyi (1963).",
)
BLIND_SOURCE = (
    "Codes and places were drawn and sealed before a glass was poured; what was to be called alike "
    "was written down before, too."
)


def difference_page(
    found: DifferenceFound,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture, ...] = (),
) -> str:
    """Return the page of a session on two products."""
    result = found.result
    named = may_name(reader, result.n_people)
    return to_html(
        Report(
            kind="Two products",
            name=result.session,
            fact=fact_words(facts, result.n_people, 2, named=named),
            reader=reader.words,
            opening=Opening(
                result.verdict.label,
                sentences(f"{result.verdict.said}."),
                action(result.verdict.next_action),
            ),
            pictures=pictures,
            sections=(Section("What it rests on", sentences(*difference_figures(result))),),
            reckoned=sentences(BLIND_SOURCE),
            sources=(*DIFFERENCE_SOURCES, f"The way to ask: {result.facts.method.standard}."),
            cautions=CARE,
            foot=foot(stands),
        )
    )


def ranking_page(
    found: RankingFound,
    facts: SessionFacts,
    stands: StandsOn,
    *,
    reader: Reader,
    pictures: tuple[Picture, ...] = (),
) -> str:
    """Return the page of a ranking."""
    result = found.result
    named = may_name(reader, result.n_people)
    columns = (
        Column("product"),
        Column("mean rank", figures=True),
        Column("sum of ranks", figures=True),
        Column("surely before"),
    )
    table = Table("", columns, ranked_rows(result), "Rank 1 has the most of it.")
    return to_html(
        Report(
            kind="Ranking",
            name=result.session,
            fact=fact_words(facts, result.n_people, len(result.products), named=named),
            reader=reader.words,
            opening=Opening(
                result.verdict.label,
                sentences(f"{result.verdict.said}."),
                action(result.verdict.next_action),
            ),
            pictures=pictures,
            sections=(Section("In their order", tables=(table,)),),
            reckoned=sentences(*ranking_figures(result), BLIND_SOURCE),
            sources=RANKING_SOURCES,
            cautions=CARE,
            foot=foot(stands),
        )
    )

"""What sessions in sets found, as lines of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.words.answers import number, paragraph, verdict_line
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.difference import Difference
    from analysis.ranking import Ranking
    from panel.questions.sets import DifferenceFound, RankingFound


def difference_lines(found: DifferenceFound, width: int = 80) -> list[str]:
    """Return a finding on two products, then the figures behind it."""
    lines = paragraph(verdict_line(found.result.verdict), width)
    for said in difference_figures(found.result):
        lines += paragraph(said, width)
    return lines


def difference_figures(found: Difference) -> list[str]:
    """Return the figures behind a finding on two products as sentences."""
    return list(found.said())[1:]


def ranking_lines(found: RankingFound, width: int = 80) -> list[str]:
    """Return what a ranking found, its products, then the figures."""
    result = found.result
    lines = paragraph(verdict_line(result.verdict), width)
    if result.p is None:
        return lines
    lines += [
        "",
        *columns(("product", "mean rank", "sum", "surely before"), ranked_rows(result)),
        "",
    ]
    for said in ranking_figures(result):
        lines += paragraph(said, width)
    return lines


def ranked_rows(found: Ranking) -> list[tuple[str, str, str, str]]:
    """Return the products, first the one with the most."""
    return [
        (one.product, number(one.mean, 2), f"{one.sum:g}", ", ".join(one.below) or "-")
        for one in found.products
    ]


def ranking_figures(found: Ranking) -> list[str]:
    """Return the figures behind a ranking as sentences, without those of each product."""
    return list(found.said())[1 + len(found.products) :] if found.p is not None else []

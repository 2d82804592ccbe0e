"""Which of these casks: each cask's notes between the two bars of the tolerance."""

from __future__ import annotations

import pandas as pd

from ..chance_words import in_percent
from ..target import Match, Target
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

MOST_CASKS = 6
MOST_ALONE = 12
REACH = 3.0
"""Tolerances to either side that are shown; what lies further off stands at the end."""
TWICE = 1.96


def which_casks(match: Match, target: Target, estimates: pd.DataFrame) -> Picture:
    """Return the first casks of a ranking, a facet each, in units of the tolerance.

    Parameters
    ----------
    match
        The ranking.
    target
        Its aims and tolerances.
    estimates
        `sample, descriptor, estimate, se` of the casks, moved to the day of the match.
    """
    casks = match.casks[:MOST_CASKS]
    marks: list[Mark] = []
    for row in range(len(target.lines)):
        for facet in range(len(casks)):
            marks += [Mark(Shape.EDGE, row, bar, facet=facet) for bar in (-1.0, 1.0)]
    for facet, cask in enumerate(casks):
        rows = estimates[estimates["sample"] == cask.sample]
        values = zip(rows["estimate"].astype(float), rows["se"].astype(float), strict=True)
        own = dict(zip(rows["descriptor"].astype(str), values, strict=True))
        for row, line in enumerate(target.lines):
            if line.descriptor not in own:
                continue
            value, se = own[line.descriptor]
            off, reach = (value - line.aim) / line.tolerance, TWICE * se / line.tolerance
            marks.append(Mark(Shape.SPAN, row, off - reach, off + reach, facet))
            marks.append(Mark(Shape.POINT, row, off, facet=facet))
    return Picture(
        title=f"Which of these casks for {match.target}?",
        says=f"{match.sentence} {_drawn(match)}",
        rows=tuple(Row(line.descriptor) for line in target.lines),
        facets=tuple(
            Facet(-REACH, REACH, f"{cask.cask} {in_percent(cask.probability)}", "tolerances")
            for cask in casks
        ),
        marks=tuple(marks),
        legend=(
            Legend(Shape.LETTERS, "chance to be within on all notes", text="%"),
            Legend(Shape.EDGE, "the tolerance to either side of the aim"),
            Legend(Shape.POINT, "its note", Sign.FULL),
            Legend(Shape.SPAN, "19 times in 20"),
        ),
    )


def chances(match: Match) -> Picture:
    """Return the first casks of a ranking by their chance alone, where nothing stands beside it."""
    casks = match.casks[:MOST_ALONE]
    return Picture(
        title=f"Which of these casks for {match.target}?",
        says=match.sentence,
        rows=tuple(Row(cask.cask, in_percent(cask.probability)) for cask in casks),
        facets=(Facet(0.0, 100.0, unit="chance to be within on all notes, %"),),
        marks=tuple(
            Mark(Shape.BAR, row, 0.0, 100.0 * cask.probability) for row, cask in enumerate(casks)
        ),
    )


def _drawn(match: Match) -> str:
    shown = min(len(match.casks), MOST_CASKS)
    day = f", their notes moved to {match.stock_on}" if match.stock_on else ""
    return f"Drawn: the first {shown}{day}."

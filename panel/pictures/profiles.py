"""What one sample is like: a row a note, its place on the line with its interval."""

from __future__ import annotations

from math import isnan
from typing import TYPE_CHECKING, Any

from analysis.pictures import Facet, Legend, Mark, Picture, Row, Shape, Sign

if TYPE_CHECKING:
    import pandas as pd

TWICE = 1.96
FORETOLD = "foretold"


def what_it_is_like(rows: pd.DataFrame, name: str, says: str) -> Picture | None:
    """Return the notes of one sample, strongest first; None where nothing is known of it.

    `rows` are those of the sample in a profile's estimates, or foretold with their bounds.
    """
    known = rows[rows["estimate"].notna()].sort_values("estimate", ascending=False)
    if known.empty:
        return None
    marks: list[Mark] = []
    for at, row in enumerate(known.to_dict("records")):
        low, high = _ends(row)
        marks.append(Mark(Shape.SPAN, at, max(low, 0.0), min(high, 100.0)))
        sign = Sign.HOLLOW if row["kind"] == FORETOLD else Sign.FULL
        marks.append(Mark(Shape.POINT, at, float(row["estimate"]), sign=sign))
    hollow = (known["kind"] == FORETOLD).any()
    sign, words = (Sign.HOLLOW, "foretold") if hollow else (Sign.FULL, "mean of the panel")
    return Picture(
        title=f"What is {name} like?",
        says=says,
        rows=tuple(Row(str(note)) for note in known["descriptor"]),
        facets=(Facet(0.0, 100.0, unit="points"),),
        marks=tuple(marks),
        legend=(Legend(Shape.POINT, words, sign), Legend(Shape.SPAN, "19 times in 20")),
    )


def _ends(row: dict[Any, Any]) -> tuple[float, float]:
    if row["kind"] == FORETOLD and not isnan(row["low"]):
        return float(row["low"]), float(row["high"])
    middle, se = float(row["estimate"]), float(row["se"])
    return middle - TWICE * se, middle + TWICE * se

"""Where does it stand in the house: a rail a note, the house's range, the lexicon's end words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign


@dataclass(frozen=True)
class Rail:
    """One note: where the release stands, and the middle nine tenths of the house's casks."""

    note: str
    value: float
    low: float
    high: float
    house_low: float
    house_high: float
    n_casks: int


def where_it_stands(
    name: str, rails: Sequence[Rail], ends: Mapping[str, tuple[str, str]], said: str
) -> Picture:
    """Return a release on the house's rails.

    Parameters
    ----------
    ends
        Words of the lexicon at the two ends of a note's line.
    """
    marks: list[Mark] = []
    for at, rail in enumerate(rails):
        marks.append(Mark(Shape.BAND, at, rail.house_low, rail.house_high))
        marks.append(Mark(Shape.SPAN, at, rail.low, rail.high))
        marks.append(Mark(Shape.POINT, at, rail.value, sign=Sign.DIAMOND))
    return Picture(
        title=f"Where does {name} stand in the house?",
        says=said,
        rows=tuple(
            Row(rail.note, f"of {rail.n_casks} casks", ends=ends.get(rail.note, ("", "")))
            for rail in rails
        ),
        facets=(Facet(0.0, 100.0, unit="points, as our panel nosed it"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.BAND, "the middle nine tenths of the house's casks"),
            Legend(Shape.POINT, name, Sign.DIAMOND),
            Legend(Shape.SPAN, "19 times in 20"),
        ),
    )

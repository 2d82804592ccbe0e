"""Where does it stand in the house: a rail a note, the house's range, the lexicon's end words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign


@dataclass(frozen=True)
class Rail:
    """One note: where the release stands, and the middle nine tenths of the house's casks.

    Attributes
    ----------
    interval
        19 times in 20; None where it is not known.
    house
        Low and high; None where too few casks were nosed for a range.
    """

    note: str
    value: float
    interval: tuple[float, float] | None
    house: tuple[float, float] | None
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
        marks += [] if rail.house is None else [Mark(Shape.BAND, at, *rail.house)]
        marks += [] if rail.interval is None else [Mark(Shape.SPAN, at, *rail.interval)]
        marks.append(Mark(Shape.POINT, at, rail.value, sign=Sign.DIAMOND))
    return Picture(
        title=f"Where does {name} stand in the house?",
        says=said,
        rows=tuple(
            Row(rail.note, _against(rail), ends=ends.get(rail.note, ("", ""))) for rail in rails
        ),
        facets=(Facet(0.0, 100.0, unit="points"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.BAND, "the middle nine tenths of the house's casks"),
            Legend(Shape.POINT, name, Sign.DIAMOND),
            Legend(Shape.SPAN, "19 times in 20"),
        ),
    )


def _against(rail: Rail) -> str:
    if rail.house is None:
        return f"too few casks: {rail.n_casks}"
    return f"{rail.value:.0f}; house {rail.house[0]:.0f} to {rail.house[1]:.0f}"

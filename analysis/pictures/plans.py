"""Which cask goes when, and for what? A row a cask, the years along it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ..digits import in_digits
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

if TYPE_CHECKING:
    from ..stock_plan import ReleasePlan, StockPlan

MOST_CASKS = 12
"""Of a release of more casks one row is told."""
MOST_ROWS = 60


@dataclass(frozen=True)
class _Line:
    """One row: a cask, or the casks of a large release."""

    name: str
    beside: str
    release: ReleasePlan


def plan_over_years(plan: StockPlan, name: str) -> tuple[Picture, ...]:
    """Return the casks of a plan by release and year; none where no release gets any.

    Parameters
    ----------
    plan
        What the solver found.
    name
        Of the plan.
    """
    lines = [line for each in plan.releases for line in _lines(each)]
    return tuple(
        _one(plan, name, lines[at : at + MOST_ROWS]) for at in range(0, len(lines), MOST_ROWS)
    )


def _lines(release: ReleasePlan) -> list[_Line]:
    mixture = release.mixture
    if mixture is None:
        return []
    if len(mixture.parts) > MOST_CASKS:
        litres = sum(part.litres for part in mixture.parts)
        casks = f"{in_digits(len(mixture.parts), ',')} casks"
        return [_Line(casks, f"{release.name}, {in_digits(litres, ',.0f')} L", release)]
    return [
        _Line(part.cask, f"{release.name}, {in_digits(part.litres, ',.0f')} L", release)
        for part in mixture.parts
    ]


def _one(plan: StockPlan, name: str, lines: Sequence[_Line]) -> Picture:
    now = plan.as_of.year + (plan.as_of.timetuple().tm_yday - 1) / 365.25
    marks: list[Mark] = []
    for row, line in enumerate(lines):
        day = line.release.on
        drawn = day.year + (day.timetuple().tm_yday - 1) / 365.25
        sign = Sign.HOLLOW if line.release.fails else Sign.FULL
        marks.append(Mark(Shape.BAR, row, now, drawn))
        marks.append(Mark(Shape.POINT, row, drawn, sign=sign))
    last = max(each.on.year for each in plan.releases)
    return Picture(
        title=f"Which cask goes when, and for what? {name}",
        says=plan.sentence,
        rows=tuple(Row(line.name, line.beside) for line in lines),
        facets=(Facet(float(plan.as_of.year), float(last + 1), "drawn in", "year"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.BAR, "lies until then"),
            Legend(Shape.POINT, "drawn for its release", Sign.FULL),
            Legend(Shape.POINT, "drawn for a release that fails", Sign.HOLLOW),
        ),
    )

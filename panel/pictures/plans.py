"""The picture of a plan of the stock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.plans import plan_over_years

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.questions.stock_plans import PlanFound


def casks_by_year(found: PlanFound) -> tuple[Picture, ...]:
    """Return the casks of a plan by release and year; none where no release gets any."""
    return plan_over_years(found.found, found.plan)

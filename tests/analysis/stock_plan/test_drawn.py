"""A plan drawn: a row a cask, and one for all of a release of many."""

from __future__ import annotations

from dataclasses import replace

from analysis.pictures import Shape, to_svg
from analysis.pictures.plans import MOST_CASKS, plan_over_years
from analysis.stock_plan import plan_stock
from analysis.vatting import Drawing, Limits

from .houses import question


def test_a_row_a_cask_ends_in_the_year_it_is_drawn_in() -> None:
    plan = plan_stock(question(0))
    (picture,) = plan_over_years(plan, "Years")
    assert [row.name for row in picture.rows] == [
        cask for each in plan.releases for cask in each.casks
    ]
    ends = [mark.x for mark in picture.marks if mark.shape is Shape.POINT]
    assert [int(end) for end in ends] == [
        each.on.year for each in plan.releases for _ in each.casks
    ]
    assert "Which cask goes when" in to_svg(picture)


def test_a_release_of_many_casks_has_one_row() -> None:
    few = Limits(litres=1200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    asked = question(3, casks=40)
    asked = replace(asked, releases=tuple(replace(each, limits=few) for each in asked.releases))
    plan = plan_stock(asked)
    (picture,) = plan_over_years(plan, "Years")
    many = sum(each.n_casks > MOST_CASKS for each in plan.releases)
    rows = sum(
        min(each.n_casks, 1) if each.n_casks > MOST_CASKS else each.n_casks
        for each in plan.releases
    )
    assert len(picture.rows) == rows
    assert sum("casks" in row.name for row in picture.rows) == many

"""What cannot stand together in a small plan, and the ways out of it that are told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.stock_plan import (
    HouseLimits,
    MendKind,
    MustStay,
    PlannedRelease,
    plan_stock,
)
from analysis.stock_plan.after import _house_words
from analysis.stock_plan.blocks import HouseRow, build_problem
from analysis.stock_plan.fewer import fewer_of, with_amount
from analysis.stock_plan.must_be_in import without
from analysis.stock_plan.result import Mend
from analysis.stock_plan.together import find_conflicts
from analysis.stock_plan.until import no_limit
from analysis.stock_plan.verdict import next_action
from analysis.vatting import Drawing, Limits
from analysis.vatting.limits import LimitKind

from .houses import ABV, day, question


def test_what_is_proposed_already_counts_against_its_year() -> None:
    limits = Limits(litres=200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    years = [each.on.year for each in question(2, limits=limits).by_date]
    house = HouseLimits(most_litres_a_year=300.0, drawn_already={years[0]: 399.0, years[1]: 70.0})
    plan = plan_stock(question(2, limits=limits, house=house))
    first, second = plan.drawn
    assert (first.litres, first.already) == (0.0, 399.0)
    assert 200.0 * 46.0 / ABV - 1e-3 <= second.litres <= 300.0 - 70.0
    assert plan.together_not is not None
    assert plan.together_not.house == (
        f"at most 0 L drawn in {years[0]} beside the 399 L proposed already",
    )


def test_a_cask_that_must_be_in_two_releases_is_why_they_cannot_stand_together() -> None:
    asked = question(0)
    limits = replace(asked.releases[0].limits, must_include=("C00",))
    both = replace(asked, releases=tuple(replace(each, limits=limits) for each in asked.releases))
    plan = plan_stock(both)
    names = tuple(each.name for each in both.by_date)
    (conflict,) = find_conflicts(build_problem(both), no_limit())
    assert (conflict.releases, conflict.spent, conflict.nearest) == ((0, 1), "C00", {})
    assert plan.together_not is not None
    assert plan.together_not.releases == names
    assert "cask C00 must be in each" in plan.together_not.sentence
    told = {mend.limit for each in plan.releases for mend in each.mends}
    assert told <= {LimitKind.MUST_INCLUDE}, "nothing else changes that it is spent once"


def test_fewer_that_are_offered_were_tried_by_all_limits() -> None:
    """Whole casks of two sizes: four litres in five of what is asked lie in no casks at all."""
    asked = question(0, casks=3)
    whole = Limits(litres=400.0, abv_percent=46.0)
    litres = np.array([100.0, 180.0, 190.0])
    from .houses import release, stock

    asked = replace(
        asked,
        stocks={day(2027): stock(np.full((3, 2), 30.0), 0, litres)},
        releases=(release("One", 0, (30.0, 30.0), replace(whole, must_include=("C02",))),),
    )
    problem = build_problem(asked)
    had = fewer_of(problem, [np.zeros(3)], 0, 380, lambda _block, _found: True, no_limit())
    assert had is not None
    there = with_amount(problem, 0, had.amount).blocks[0].release
    plan = plan_stock(replace(asked, releases=(there,)))
    assert not plan.releases[0].missing
    assert "C02" in plan.releases[0].casks
    kept_out = replace(asked.releases[0], limits=replace(whole, minimum_age_years=90.0))
    nothing = plan_stock(replace(asked, releases=(kept_out,)))
    assert nothing.together_not is not None
    assert "No cask may go in" in nothing.together_not.sentence
    assert nothing.together_not.nearest == {}


def test_every_release_that_cannot_be_filled_by_itself_is_named_not_the_last_alone() -> None:
    asked = question(0, casks=9, releases=3)
    first, good, last = asked.by_date
    old = replace(first, limits=replace(first.limits, minimum_age_years=90.0))
    much = replace(last, limits=replace(last.limits, litres=9000.0))
    plan = plan_stock(replace(asked, releases=(old, good, much)))
    cannot = plan.together_not
    assert cannot is not None
    assert (cannot.releases, cannot.each_alone) == (("R0", "R2"), True)
    assert "R0 cannot be filled under its limits. No cask may go in" in cannot.sentence
    assert "R2 cannot be filled under its limits." in cannot.sentence
    assert "smell" not in cannot.sentence
    assert set(cannot.nearest) <= {"R2"}


def test_what_would_mend_several_is_done_one_at_a_time() -> None:
    found = plan_stock(question(0)).releases
    mends = [Mend(MendKind.FEWER, f"{each.name} can be had with 80 bottles") for each in found]
    some = [replace(each, fails=True, mends=(m,)) for each, m in zip(found, mends, strict=True)]
    assert next_action(some[:1]) == "R0 can be had with 80 bottles"
    assert next_action(some) == (
        "one at a time, then plan again: R0 can be had with 80 bottles; "
        "R1 can be had with 80 bottles"
    )


def test_casks_without_the_one_that_must_be_in_are_told_from_others() -> None:
    asked = question(0)
    must = replace(asked.releases[0].limits, must_include=("C00",))
    first = replace(asked.releases[0], limits=must)
    problem = build_problem(replace(asked, releases=(first, *asked.releases[1:])))
    block = problem.blocks[0]
    given = np.where(np.arange(block.model.n) == 1, 1.0, 0.0)
    assert without(block, given) == ("C00",)
    assert without(block, np.zeros(block.model.n)) == ()


def test_what_is_done_next_can_be_done_whether_the_plan_is_kept_or_not() -> None:
    good = [replace(each, fails=False) for each in plan_stock(question(0)).releases]
    assert next_action(good).startswith("keep the plan and propose R0 from it")


@pytest.mark.parametrize(
    ("already", "said"),
    [
        ({}, "at most 500 L drawn in 2027"),
        ({2028: 90.0}, "at most 500 L drawn in 2027"),
        ({2027: 90.0}, "at most 500 L drawn in 2027 beside the 90 L proposed already"),
    ],
)
def test_what_a_year_may_give_is_said_whether_some_of_it_is_spent(
    already: dict[int, float], said: str
) -> None:
    assert _house_words(HouseRow("drawn in 2027", 2027, (), 500.0), already) == said


def any_notes(one: PlannedRelease) -> PlannedRelease:
    """The same release, content with any notes."""
    lines = tuple(replace(line, tolerance=90.0) for line in one.target.lines)
    return replace(one, target=replace(one.target, lines=lines))


def test_a_limit_of_the_year_that_alone_binds_is_the_way_out_for_all_that_lack_for_it() -> None:
    """What is offered is planned with: both releases of the year are made, and none would be."""
    limits = Limits(litres=200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    asked = question(2, limits=limits, house=HouseLimits(most_litres_a_year=120.0))
    there = asked.releases[0].on
    same = tuple(replace(any_notes(each), on=there) for each in asked.releases)
    plan = plan_stock(replace(asked, releases=same))
    lacking = [each for each in plan.releases if each.missing > 0.0]
    assert lacking
    for each in lacking:
        (more,) = (mend for mend in each.mends if mend.kind is MendKind.DRAW)
        assert more.litres is not None
        assert "drawn a year" in more.sentence
        house = HouseLimits(most_litres_a_year=float(more.litres))
        freed = plan_stock(replace(asked, releases=same, house=house))
        assert not any(other.missing for other in freed.releases)
    assert "L drawn a year" in plan.next_action


def test_litres_that_must_stay_are_the_way_out_where_they_alone_bind() -> None:
    limits = Limits(litres=200.0, drawing=Drawing.PART, smallest_draw_litres=20.0)
    held = float(question(2).stocks[day(2028)].bulk_litres.sum())
    tight = HouseLimits(stay=(MustStay(held - 200.0),))
    asked = question(2, limits=limits, house=tight)
    easy = replace(asked, releases=tuple(any_notes(each) for each in asked.releases))
    plan = plan_stock(easy)
    failing = next(each for each in plan.releases if each.missing > 0.0)
    (less,) = (mend for mend in failing.mends if mend.kind is MendKind.LEAVE)
    assert less.litres is not None
    assert "left at the end" in less.sentence
    freed = HouseLimits(stay=(MustStay(float(less.litres)),))
    again = plan_stock(replace(easy, house=freed))
    assert not any(each.missing for each in again.releases)


def test_one_amount_is_told_of_fewer_bottles_and_those_that_are_kept_are_taken_off() -> None:
    whole = Limits(bottles=1400, abv_percent=46.0, excess_fraction=0.1)
    asked = question(0, casks=3, releases=1)
    kept = replace(asked.releases[0], limits=whole, kept_bottles=24)
    wide = any_notes(kept)
    plan = plan_stock(replace(asked, releases=(wide,)))
    (found,) = plan.releases
    (fewer,) = (mend for mend in found.mends if mend.kind is MendKind.FEWER)
    assert fewer.bottles is not None
    assert plan.together_not is not None
    assert plan.together_not.nearest == {found.name: fewer.bottles}
    assert found.mixture is not None
    assert found.bottles_low == found.mixture.poured.bottles_low - 24
    there = replace(wide, limits=replace(whole, bottles=fewer.bottles + 24))
    again = plan_stock(replace(asked, releases=(there,)))
    assert not again.releases[0].missing
    assert again.releases[0].bottles_low >= fewer.bottles

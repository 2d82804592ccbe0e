"""Casks that must be in, and how many at least: held by a plan and by what stands beside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from analysis.chance_words import in_100
from analysis.stock_plan import Ended, MendKind, PlanQuestion, plan_stock
from analysis.stock_plan.blocks import build_problem
from analysis.stock_plan.chances import Chances
from analysis.stock_plan.choose import choose
from analysis.stock_plan.loosened import ways
from analysis.stock_plan.must_be_in import without
from analysis.stock_plan.result import SURE_ENOUGH
from analysis.stock_plan.search import keeps
from analysis.stock_plan.verdict import (
    Beside,
    beside_of,
    beside_sentence,
    is_surer_alone,
    next_action,
    quality_sentence,
)
from analysis.vatting import Drawing, Limits, Stock
from analysis.vatting.limits import LimitKind
from panel.words.plan_words import HEADINGS, release_cells

from .houses import day, question, release, stock


def both_ask_for_one(limits: Limits) -> PlanQuestion:
    """Twelve casks like the target; two releases that each ask for C03."""
    stocks = {
        day(2027 + year): stock(np.full((12, 2), 30.0), year, np.full(12, 190.0))
        for year in range(2)
    }
    wanted = replace(limits, must_include=("C03",))
    releases = tuple(release(f"R{year}", year, (30.0, 30.0), wanted) for year in range(2))
    return replace(question(0), stocks=stocks, releases=releases)


@pytest.mark.parametrize("drawing", [Drawing.WHOLE, Drawing.PART])
def test_of_two_releases_that_ask_for_one_cask_one_is_made(drawing: Drawing) -> None:
    """Nor does the other stand beside the plan without it: each cask is spent once there too."""
    limits = Limits(litres=400.0, abv_percent=46.0, drawing=drawing, excess_fraction=0.3)
    if drawing is Drawing.PART:
        limits = replace(limits, smallest_draw_litres=150.0)
    plan = plan_stock(both_ask_for_one(limits))
    (made,) = (each for each in plan.releases if each.mixture is not None)
    (other,) = (each for each in plan.releases if each.mixture is None)
    assert "C03" in made.casks
    assert plan.objective <= plan.alone_objective + 1e-9
    assert sorted(each.alone.missing for each in plan.releases) == [0.0, 1.0]
    assert [(each.cask, each.release) for each in other.must_have] == [("C03", made.name)]
    assert f"it asks for cask C03, which {made.name} has" in plan.sentence


def test_prices_too_leave_a_release_unmade_that_cannot_have_its_cask(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from analysis.stock_plan import choose as choosing

    monkeypatch.setattr(choosing, "WHOLE_PROGRAM_CASKS", 0)
    limits = Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.3)
    chosen = choose(build_problem(both_ask_for_one(limits)), 60.0)
    assert keeps(chosen.problem, chosen.fractions)
    assert chosen.objective == pytest.approx(1000.0, abs=0.1)
    assert chosen.objective <= chosen.problem.value(chosen.alone) + 1e-9


def test_a_release_of_too_few_casks_is_none_beside_a_plan_either() -> None:
    """Two casks are too much, one too little, and so few may not be: nothing can be made."""
    few = Limits(litres=300.0, abv_percent=46.0, casks_min=2, excess_fraction=0.1)
    asked = both_ask_for_one(few)
    alone = replace(asked.releases[0], limits=few)
    plan = plan_stock(replace(asked, releases=(alone,), stocks={alone.on: asked.stocks[alone.on]}))
    (found,) = plan.releases
    assert (found.n_casks, found.missing) == (0, 1.0)
    assert (found.alone.n_casks, found.alone.missing) == (0, 1.0)
    assert plan.proven
    assert plan.beside_sentence == "Release after release fills nothing."
    assert not plan.surer_alone
    assert release_cells(found)[HEADINGS.index("off")] == "-"


def test_the_limits_that_alone_keep_a_release_from_being_filled_are_told_and_no_others() -> None:
    """Planned with what is told it is filled, with a step less it is not; fewer casks do not do."""
    few = Limits(litres=400.0, abv_percent=46.0, casks_min=2, excess_fraction=0.1)
    asked = both_ask_for_one(few)
    alone = replace(asked.releases[0], limits=few)
    one = replace(asked, releases=(alone,), stocks={alone.on: asked.stocks[alone.on]})

    def missing(limits: Limits) -> float:
        return (
            plan_stock(replace(one, releases=(replace(alone, limits=limits),))).releases[0].missing
        )

    plan = plan_stock(one)
    told = [each for each in plan.releases[0].mends if each.kind is MendKind.LOOSEN]
    assert {each.limit for each in told} >= {LimitKind.EXCESS, LimitKind.WHOLE}
    assert LimitKind.CASKS_MIN not in {each.limit for each in told}
    assert missing(replace(few, casks_min=1))
    over = next(each for each in told if each.limit is LimitKind.EXCESS)
    way = next(iter(ways(few)))
    which = next(at for at, looser in enumerate(way) if looser.words in over.sentence)
    assert not missing(way[which].limits)
    assert missing(way[which - 1].limits)
    assert not missing(replace(few, drawing=Drawing.PART))
    assert "can be filled with" in plan.next_action


def test_no_limit_is_loosened_beyond_what_the_law_asks() -> None:
    asked = Limits(bottles=300, abv_percent=43.0, age_statement_years=8, minimum_age_years=6.0)
    tried = [looser.limits for way in ways(asked) for looser in way]
    assert min(each.abv_percent or 0.0 for each in tried) == 40.0
    assert min(each.age_statement_years or 0 for each in tried) == 6


def test_release_after_release_is_compared_as_values() -> None:
    assert beside_of(0.5) is Beside.FARTHER
    assert beside_of(0.0005) is beside_of(-0.0005) is Beside.AS_NEAR
    assert beside_of(-1000.0) is Beside.NEARER
    said = beside_sentence(-1000.0, 0.76, 4)
    assert "lies 1000.00 points nearer" in said
    assert "as near" not in said
    assert said.endswith("all 4 together 76 in 100.")
    assert "a surer plan may exist" in quality_sentence(0.0, 0.0, Ended.PROVEN)


@pytest.mark.parametrize(
    ("saved", "of_alone", "surer"),
    [(0.0, 0.9, True), (0.0, 0.715, False), (0.0, 0.7, False), (0.5, 0.9, False)],
    ids=["surer", "within the draws", "alike", "farther"],
)
def test_release_after_release_is_next_where_it_lies_as_near_and_is_surer(
    saved: float, of_alone: float, surer: bool
) -> None:
    asked = both_ask_for_one(Limits(litres=400.0, abv_percent=46.0, excess_fraction=0.3))
    releases = plan_stock(replace(asked, releases=asked.releases[:1])).releases
    assert not any(each.fails for each in releases)
    together, alone = Chances((), 0.7, 0.01, 2000), Chances((), of_alone, 0.01, 2000)
    found = is_surer_alone(saved, releases, together, alone)
    assert found is surer
    said = next_action(releases, surer_alone=found)
    assert said.startswith("release after release is surer" if surer else "keep the plan")
    failing = plan_stock(both_ask_for_one(Limits(litres=400.0, abv_percent=46.0))).releases
    assert any(each.fails for each in failing)
    assert next_action(failing, surer_alone=True).startswith("release after release is surer")
    lost = [replace(each, alone=replace(each.alone, missing=0.2)) for each in releases]
    assert not is_surer_alone(saved, lost, together, alone)


def test_a_wider_tolerance_is_told_with_the_chance_that_it_brings() -> None:
    asked = question(1, releases=1, sd=2.0)
    plan = plan_stock(asked)
    (found,) = plan.releases
    (wider,) = (mend for mend in found.mends if mend.kind is MendKind.WIDEN)
    assert wider.points is not None
    assert wider.probability is not None
    assert SURE_ENOUGH <= wider.probability < 0.9
    lines = tuple(
        replace(line, tolerance=wider.points) if line.descriptor == wider.descriptor else line
        for line in asked.releases[0].target.lines
    )
    wide = replace(asked.releases[0], target=replace(asked.releases[0].target, lines=lines))
    (anew,) = plan_stock(replace(asked, releases=(wide,))).releases
    assert anew.probability is not None
    assert anew.probability >= wider.probability - 0.02
    assert f"to {in_100(wider.probability)} (plans count 50 in 100 as made)" in plan.next_action


@pytest.mark.parametrize("contested", [True, False], ids=["another has it", "far off the target"])
def test_no_cask_that_is_filled_takes_the_place_of_what_must_be_in(contested: bool) -> None:
    """Young casks of its make are there, so that some could be filled."""
    asks = Limits(litres=400.0, abv_percent=46.0, drawing=Drawing.PART, excess_fraction=0.3)
    limits = replace(asks, smallest_draw_litres=150.0)
    notes = np.full((12, 2), 30.0)
    if not contested:
        notes[3], notes[:3], notes[4:8] = 90.0, (60.0, 5.0), (60.0, 5.0)
    young = np.arange(12) >= 8

    def of_year(year: int) -> Stock:
        litres = np.where(young & (not contested), 30.0, 190.0)
        found = stock(notes, year, litres)
        casks = found.casks.assign(age_years=np.where(young, 0.25, 10.0) + year, make="Fen")
        return replace(found, casks=casks)

    asked = both_ask_for_one(limits)
    stocks = {on: of_year(year) for year, on in enumerate(sorted(asked.stocks))}
    some = asked.releases if contested else asked.releases[1:]
    plan = plan_stock(replace(asked, stocks=stocks, releases=some))
    failing = [each for each in plan.releases if each.fails]
    assert failing
    assert not {mend.kind for each in failing for mend in each.mends} & {MendKind.FILL}


@pytest.mark.parametrize("drawing", [Drawing.WHOLE, Drawing.PART])
def test_what_must_be_in_a_later_release_is_left_to_it_by_prices_too(
    monkeypatch: pytest.MonkeyPatch, drawing: Drawing
) -> None:
    """The cask lies on the first release's aim, far off that of the last, which must have it."""
    from analysis.stock_plan import choose as choosing

    monkeypatch.setattr(choosing, "WHOLE_PROGRAM_CASKS", 0)
    limits = Limits(litres=400.0, abv_percent=46.0, drawing=drawing, excess_fraction=0.3)
    if drawing is Drawing.PART:
        limits = replace(limits, smallest_draw_litres=150.0)
    rng = np.random.default_rng(4)
    scores = rng.uniform(25.0, 35.0, (20, 2))
    scores[3] = (45.0, 30.0)
    stocks = {day(2027 + year): stock(scores, year, np.full(20, 190.0)) for year in range(6)}
    releases = [release(f"R{year}", year, (30.0 + year, 30.0), limits) for year in range(6)]
    releases[0] = release("R0", 0, (37.0, 30.0), limits)
    releases[5] = replace(releases[5], limits=replace(limits, must_include=("C03",)))
    chosen = choose(
        build_problem(replace(question(0), stocks=stocks, releases=tuple(releases))), 60.0
    )
    problem = chosen.problem
    assert keeps(problem, chosen.fractions)
    for plan in (chosen.fractions, chosen.alone):
        assert not any(
            block.missing(part) for block, part in zip(problem.blocks, plan, strict=True)
        )
        assert not without(problem.blocks[5], plan[5])


def test_beside_a_release_whose_cask_is_reserved_the_others_are_looked_at_alone() -> None:
    asked = question(0, casks=9, releases=3)
    first, good, last = asked.by_date
    stocks = {
        on: replace(
            each,
            casks=each.casks.assign(
                reserved_l=np.where(each.casks["cask"] == "C00", each.casks["bulk_l"], 0.0)
            ),
        )
        for on, each in asked.stocks.items()
    }
    gone = replace(first, limits=replace(first.limits, must_include=("C00",)))
    much = replace(last, limits=replace(last.limits, litres=9000.0))
    cannot = plan_stock(replace(asked, stocks=stocks, releases=(gone, good, much))).together_not
    assert cannot is not None
    assert (cannot.releases, cannot.each_alone) == (("R0", "R2"), True)
    assert "R0 cannot be filled under its limits. It must have cask C00" in cannot.sentence
    assert "R2 cannot be filled under its limits." in cannot.sentence

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from analysis.strength import Part, bottles_from, reduce_strength, vat
from analysis.vatting import (
    Drawing,
    LimitKind,
    Limits,
    MixingRule,
    NoVatting,
    Share,
    VattingPlan,
    build_stock,
    plan_vatting,
)
from analysis.vatting.known import latest_samples
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 36.0, "plum": 34.0}, 6.0)
WIDE = Limits(litres=1500, excess_fraction=0.1)
DOCUMENTED = {
    *("proven", "gap", "parts", "bulk_litres", "abv_percent", "water_litres", "bottles"),
    *("age_statement_years", "prediction", "probability"),
}


def planned(limits: Limits = WIDE, **more: object) -> VattingPlan:
    plan = plan_vatting(stock_of(60, seed=2, sd=4.0), TARGET, limits, **more)  # type: ignore[arg-type]
    assert isinstance(plan, VattingPlan)
    return plan


@pytest.mark.slow
def test_the_documented_keys_are_there_and_everything_is_plain() -> None:
    shares = (Share.about("wood", "oak butt", 0.3, within=0.05),)
    found = json.loads(json.dumps(planned(replace(WIDE, shares=shares), in_full=True).to_dict()))
    assert found.keys() >= DOCUMENTED
    assert found["parts"][0].keys() >= {"cask", "litres", "lpa", "share_lpa"}
    assert found["prediction"][0].keys() >= {"descriptor", "aim", "tolerance", "estimate", "sd"}
    assert len(found["answers"]) == 5
    assert {one["failed"] for one in found["stand_ins"]} == {one["cask"] for one in found["parts"]}
    assert all(one["sentence"] for one in found["prices"])
    assert sum(part["share_lpa"] for part in found["parts"]) == pytest.approx(1.0)


def test_whole_casks_are_the_default() -> None:
    assert all(part.litres_left == 0.0 for part in planned().mixture.parts)


def test_strength_water_and_bottles_are_those_of_the_trade_arithmetic() -> None:
    plan = planned(Limits(bottles=1500, excess_fraction=0.1))
    poured = plan.mixture.poured
    mixed = vat([Part(part.litres, part.abv_percent) for part in plan.mixture.parts])
    reduced = reduce_strength(mixed.bulk_litres, mixed.abv_percent, 46.0)
    assert poured.bulk_litres == pytest.approx(mixed.bulk_litres, rel=1e-12)
    assert poured.abv_percent == pytest.approx(mixed.abv_percent, abs=1e-9)
    assert poured.water_litres == pytest.approx(reduced.water_litres, rel=1e-9)
    assert poured.bottles == bottles_from(reduced.final_litres).bottles >= 1500


def test_a_vatting_of_the_trade_at_46() -> None:
    """Four parts reckoned by OIML R 22 (1975): 603.927 LPA, 1,847 bottles at 1.5 % loss."""
    casks = stock_of(
        4, bulk_l=[190.0, 185.0, 178.0, 480.0], abv=[57.1, 58.9, 56.4, 59.6], age_years=[12.0] * 4
    )
    plan = plan_vatting(casks, TARGET, Limits(bottles=1840))
    assert isinstance(plan, VattingPlan)
    poured = plan.mixture.poured
    assert poured.lpa == pytest.approx(603.927, abs=5e-4)
    assert poured.bulk_litres == pytest.approx(1032.979, abs=5e-4)
    assert poured.abv_percent == pytest.approx(58.4646, abs=5e-5)
    assert poured.water_litres == pytest.approx(289.05, abs=0.005)
    assert poured.bottles == 1847


def test_bottled_as_it_comes_there_is_no_water() -> None:
    plan = planned(Limits(bottles=2000, abv_percent=None, excess_fraction=0.1))
    poured = plan.mixture.poured
    assert poured.water_litres == 0.0
    assert poured.bottling_abv_percent == poured.abv_percent
    assert poured.bottles >= 2000


@pytest.mark.slow
def test_age_is_that_of_the_youngest_on_the_day_of_bottling() -> None:
    stock = stock_of(8, age_years=[11.5, *[15.0] * 7])
    limits = Limits(litres=1200, excess_fraction=0.3, must_include=("C000",))
    now = plan_vatting(stock, TARGET, limits)
    later = plan_vatting(stock, TARGET, replace(limits, bottling_on=date(2026, 8, 15)))
    assert isinstance(now, VattingPlan)
    assert isinstance(later, VattingPlan)
    assert now.mixture.poured.age_statement_years == 11
    assert later.mixture.poured.age_statement_years == 12
    stated = replace(limits, bottling_on=date(2026, 8, 15), age_statement_years=12)
    assert isinstance(plan_vatting(stock, TARGET, stated), VattingPlan)


def test_a_birthday_within_the_rounding_of_a_leap_year_does_not_count() -> None:
    stock = stock_of(8, age_years=[11.5, *[15.0] * 7])
    limits = Limits(litres=1200, excess_fraction=0.3, bottling_on=date(2026, 7, 17))  # 183 days
    plan = plan_vatting(stock, TARGET, replace(limits, must_include=("C000",)))
    assert isinstance(plan, VattingPlan)
    assert plan.mixture.poured.age_statement_years == 11


def test_an_age_nobody_recorded_is_told_as_such() -> None:
    stock = stock_of(8, age_years=[np.nan] * 8)
    plan = plan_vatting(stock, TARGET, Limits(litres=1200, excess_fraction=0.3))
    assert isinstance(plan, VattingPlan)
    assert plan.mixture.poured.age_statement_years is None
    assert "no recorded age" in (plan.mixture.poured.age_reason or "")


def test_tightening_keeps_the_surest_round() -> None:
    plan = planned()
    chances = [one.probability for one in plan.rounds]
    assert None not in chances
    surest = max(chance for chance in chances if chance is not None)
    assert plan.probability == pytest.approx(surest, abs=1e-12)
    assert plan.probability > (chances[0] or 0.0)
    assert plan.rounds[0].kappa == 0.0


def test_the_same_question_has_the_same_answer() -> None:
    assert planned(kappas=(0.0, 0.75)).mixture == planned(kappas=(0.0, 0.75)).mixture


def test_gap_bound_and_objective_agree() -> None:
    plan = planned(replace(WIDE, drawing=Drawing.PART))
    assert plan.gap == pytest.approx(max(0.0, plan.objective - plan.bound))
    assert plan.proven == (plan.gap <= 0.001)
    word = "Proven" if plan.proven else "Not proven"
    assert plan.quality_sentence.startswith(word)


@pytest.mark.slow
def test_five_answers_differ_by_three_casks() -> None:
    answers = planned(in_full=True).answers
    assert answers is not None
    sets = [set(answer.casks) for answer in answers]
    for i, one in enumerate(sets):
        for other in sets[:i]:
            assert len(other - one) >= 3


@pytest.mark.slow
def test_stand_ins_keep_the_limits() -> None:
    plan = planned(in_full=True)
    assert plan.stand_ins is not None
    casks = stock_of(60, seed=2).casks.set_index("cask")
    lpa = {part.cask: part.lpa for part in plan.mixture.parts}
    found = [said for said in plan.stand_ins if said.found.cask is not None]
    assert len(found) > len(plan.stand_ins) / 2
    for said in found:
        assert said.found.cask not in plan.mixture.casks
        row = casks.loc[said.found.cask]
        total = sum(lpa.values()) - lpa[said.found.failed] + row["bulk_l"] * row["abv"] / 100.0
        assert 690.0 <= total <= 690.0 * 1.1 + 0.1
        assert said.found.failed in said.sentence


def test_no_leaking_cask_stands_in_for_another() -> None:
    named = {said.found.cask for said in planned(in_full=True).stand_ins or ()} - {None}
    stock = stock_of(60, seed=2, sd=4.0)
    status = ["leaking" if cask in named else "filled" for cask in stock.casks["cask"]]
    leaky = replace(stock, casks=stock.casks.assign(status=status))
    plan = plan_vatting(leaky, TARGET, WIDE, in_full=True)
    assert isinstance(plan, VattingPlan)
    assert plan.barred == {"leaking": len(named)}
    assert named
    assert not named & {said.found.cask for said in plan.stand_ins or ()}


@pytest.mark.slow
def test_what_the_window_over_the_quantity_hides_is_told_with_its_price() -> None:
    """One cask fits the litres; the other fits the target, and gives a third more than asked."""
    stock = stock_of(2, abv=[60.0, 60.0], bulk_l=[100.0, 133.0], wood=["oak butt"] * 2)
    stock.estimate[:] = [[42.0, 34.0], [36.0, 34.0]]
    asked = Limits(litres=100.0 * 60.0 / 46.0 - 1.0, casks_max=1)
    strict = plan_vatting(stock, TARGET, asked, in_full=True)
    assert isinstance(strict, VattingPlan)
    assert strict.mixture.casks == ("C000",)
    excess = next(each for each in strict.prices or () if each.kind is LimitKind.EXCESS)
    assert excess.probability_cost > 0.3
    assert excess.excess_without == pytest.approx(133.0 * 60.0 / 46.0 / asked.final_litres - 1.0)
    assert "(what 34 % over would give)" in excess.sentence
    wide = plan_vatting(stock, TARGET, replace(asked, excess_fraction=0.4))
    assert isinstance(wide, VattingPlan)
    assert wide.mixture.casks == ("C001",)
    assert wide.probability == pytest.approx(strict.probability + excess.probability_cost)


@pytest.mark.slow
def test_the_price_of_an_age_statement() -> None:
    """Smoke at the aim is only in young casks: the statement costs all of the chance."""
    stock = stock_of(30, ["smoke"], sd=1.0, age_years=[9.0] * 20 + [14.0] * 10)
    stock.estimate[:20], stock.estimate[20:] = 40.0, 20.0
    limits = Limits(litres=900, excess_fraction=0.2, age_statement_years=12)
    plan = plan_vatting(stock, target_of({"smoke": 40.0}), limits, in_full=True)
    assert isinstance(plan, VattingPlan)
    assert plan.prices is not None
    first = plan.prices[0]
    assert first.price.casks_barred == 20
    assert first.price.probability_cost > 0.95
    assert first.sentence.startswith(
        "The age statement of 12 years: costs 20 casks to choose from and "
    )
    assert not plan.reach.reachable
    assert plan.reach.stopping == "smoke"
    assert "no cask has more than 20.0" in plan.sentence


def test_the_nearest_profile_when_two_lines_cannot_be_had_together() -> None:
    """Casks have smoke or plum; half of each is 20 and 20, whatever is mixed sums to 40."""
    stock = stock_of(20, sd=0.0)
    stock.estimate[:10], stock.estimate[10:] = (40.0, 0.0), (0.0, 40.0)
    limits = Limits(litres=900, drawing=Drawing.PART)
    plan = plan_vatting(stock, target_of({"smoke": 30.0, "plum": 30.0}, 2.0), limits)
    assert isinstance(plan, VattingPlan)
    assert plan.reach.missed_points == pytest.approx(16.0, rel=0.02)
    assert sum(line.nearest for line in plan.reach.lines) == pytest.approx(40.0, abs=0.1)
    assert plan.reach.stopping in {"smoke", "plum"}
    assert "widen its tolerance" in plan.next_action


@pytest.mark.slow
def test_nothing_found_still_has_every_key() -> None:
    limits = Limits(litres=500, casks_min=3, casks_max=3)
    stock = stock_of(6, bulk_l=[200.0] * 6, abv=[60.0] * 6)
    found = plan_vatting(stock, TARGET, limits)
    assert isinstance(found, NoVatting)
    assert found.proven
    told = json.loads(json.dumps(found.to_dict()))
    assert told.keys() >= DOCUMENTED
    assert told["reason"] == found.sentence
    assert told["parts"] == []


def test_a_stock_from_frames() -> None:
    frame = stock_of(3).casks
    gone = frame.iloc[:1].assign(filling="C000/0", status="emptied")
    rows = [
        {"cask": cask, "descriptor": name, "estimate": 30.0, "sd": 2.0}
        for cask, name in [("C000", "smoke"), ("C001", "smoke"), ("C000", "plum")]
    ]
    stock = build_stock(pd.concat([gone, frame]), pd.DataFrame(rows))
    assert stock.descriptors == ("plum", "smoke")
    assert stock.names.tolist() == ["C000", "C001", "C002"]
    assert np.isnan(stock.estimate).sum() == 3


def test_a_stock_takes_the_latest_draw_of_the_current_filling() -> None:
    casks = pd.DataFrame(
        {"cask": ["A", "A"], "filling": ["A/1", "A/2"], "status": ["emptied", "filled"]}
    )
    rows = [("a", "A/1", 2019, 5.0), ("b", "A/2", 2021, 20.0), ("c", "A/2", 2024, 30.0)]
    estimates = pd.DataFrame(
        [
            {
                "sample": sample,
                "cask": "A",
                "filling": filling,
                "drawn_on": pd.Timestamp(year, 1, 1),
                "last_nosed": pd.Timestamp(year, 2, 1),
                "descriptor": "smoke",
                "estimate": estimate,
                "se": 2.0,
            }
            for sample, filling, year, estimate in rows
        ]
    )
    found = latest_samples(estimates, casks)
    assert found.to_dict("records") == [{"sample": "c", "cask": "A"}]


def test_the_rule_changes_the_choice() -> None:
    linear = plan_vatting(stock_of(60, seed=2), TARGET, WIDE)
    potent = plan_vatting(stock_of(60, seed=2), TARGET, WIDE, MixingRule({"smoke": 0.35}))
    assert isinstance(linear, VattingPlan)
    assert isinstance(potent, VattingPlan)
    assert linear.mixture.casks != potent.mixture.casks

"""From a profile to a stock: joint errors, what all casks share, casks never nosed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from analysis.influences import Foretold, JointForetold
from analysis.profile import DescriptorFit, Link, Posterior, Profile
from analysis.target import Target, TargetLine
from analysis.vatting import (
    Limits,
    MixingRule,
    Stock,
    VattingPlan,
    plan_vatting,
    stock_from_profile,
    try_shares,
)
from analysis.vatting.chance import expect
from analysis.vatting.known import _own_covariance
from analysis.vatting.task import make_task
from tests.analysis.vatting.test_rows_by_hand import (
    plain,
)

NOTES = ("plum", "smoke")
TARGET = Target("Lantern", (TargetLine("plum", 30, 6), TargetLine("smoke", 40, 6)))
AS_OF = date(2026, 1, 15)
EXACT = MixingRule(rule_sd=0.01)


def casks_of(n: int) -> pd.DataFrame:
    names = [f"SW{i}" for i in range(n)]
    return pd.DataFrame(
        {
            "cask": names,
            "filling": [f"{name}/1" for name in names],
            "age_years": 12.5,
            "abv": 58.0,
            "bulk_l": 180.0,
            "status": "filled",
        }
    )


def profile_of(n: int, *, sd: float, together: float, common: float) -> Profile:
    """Casks on the aim, whose two notes err together, with an error that all of them share."""
    casks = casks_of(n)
    own = np.tile(sd**2 * np.array([[1.0, together], [together, 1.0]]), (n, 1, 1))
    mean = np.tile([30.0, 40.0], (n, 1))
    samples = [f"{cask}-1" for cask in casks["cask"]]
    rows = pd.DataFrame(
        {
            **{"sample": np.repeat(samples, 2), "cask": np.repeat(casks["cask"], 2)},
            **{"filling": np.repeat(casks["filling"], 2), "descriptor": NOTES * n},
            **{"estimate": mean.ravel(), "se": np.hypot(sd, np.sqrt(common)), "n_scores": 8},
            **{"drawn_on": pd.Timestamp(AS_OF), "last_nosed": pd.Timestamp(AS_OF)},
            **{"kind": "test", "component": 0, "reason": None, "raw_mean": mean.ravel()},
        }
    )
    posterior = Posterior(
        tuple(samples), NOTES, mean, own, np.full(2, common), 90.0 * np.eye(2), 0.5
    )
    fits = tuple(DescriptorFit(name, n, {"sample": 90.0}, 9.0, 0.0, {}, ("AB",)) for name in NOTES)
    return Profile(
        rows, fits, (Link(("S1",), tuple(samples)),), AS_OF, 16 * n, {}, posterior=posterior
    )


def chance_of(stock: Stock, n: int) -> float:
    task = make_task(stock, TARGET, Limits(litres=100), EXACT)
    return expect(task, np.arange(n), np.full(n, 50.0), draws=20_000).probability


@pytest.mark.parametrize("together", [-0.8, 0.0, 0.9])
def test_the_chance_of_one_cask_is_that_of_the_profile_s_own_draws(together: float) -> None:
    """Notes that err together are right together; the product of their chances is not meant."""
    profile = profile_of(1, sd=6.0, together=together, common=4.0)
    drawn = profile.draws(["SW0-1"], NOTES, n=40_000, seed=3)[:, 0]
    aimed = np.array([30.0, 40.0])
    expected = float((np.abs(drawn - aimed) <= 6.0).all(axis=1).mean())
    assert chance_of(stock_from_profile(profile, casks_of(1)), 1) == pytest.approx(
        expected, abs=0.015
    )


def test_what_all_casks_share_does_not_average_out() -> None:
    """Twelve casks: their own errors shrink to a twelfth, the profile's common one stays."""
    profile = profile_of(12, sd=6.0, together=0.0, common=9.0)
    stock = stock_from_profile(profile, casks_of(12))
    tried = try_shares(stock, dict.fromkeys(stock.names, 50.0), TARGET, Limits(litres=500), EXACT)
    sd = [line.sd for line in tried.mixture.expectation.lines]
    assert sd == pytest.approx([np.sqrt(36.0 / 12 + 9.0)] * 2, rel=0.03)


def test_bench_blends_and_the_profile_s_error_both_count() -> None:
    profile = profile_of(2, sd=6.0, together=0.0, common=9.0)
    stock = stock_from_profile(profile, casks_of(2), panel_sd={"smoke": 4.0})
    assert stock.panel_sd == pytest.approx({"plum": 3.0, "smoke": 5.0})


def test_an_emptied_filling_and_an_older_draw_do_not_count() -> None:
    profile = profile_of(2, sd=6.0, together=0.0, common=0.0)
    casks = casks_of(2).assign(filling=["SW0/2", "SW1/1"])
    stock = stock_from_profile(profile, casks)
    assert np.isnan(stock.estimate[0]).all()
    assert stock.estimate[1] == pytest.approx([30.0, 40.0])


def foretold(fillings: list[str], shared: float = 3.0, odd: str | None = None) -> Foretold:
    """Casks that nobody nosed, on the aim too, most of their error shared."""
    n = len(fillings)
    joint = JointForetold(
        tuple(fillings),
        NOTES,
        mean=np.tile([30.0, 40.0], (n, 1)),
        own=np.tile(np.eye(2), (n, 1, 1)),
        shared=np.full((n, 2, 1), shared),
    )
    rows = pd.DataFrame({"filling": np.repeat(fillings, 2), "descriptor": NOTES * n})
    return Foretold(
        rows.assign(reason=rows["filling"].map({odd: "wood never nosed"})), 30, None, joint
    )


def test_casks_never_nosed_are_left_out_unless_they_are_foretold() -> None:
    profile = profile_of(2, sd=6.0, together=0.0, common=0.0)
    plain = stock_from_profile(profile, casks_of(4))
    assert np.isnan(plain.estimate[2:]).all()
    assert not plain.foretold.any()
    more = stock_from_profile(profile, casks_of(4), foretold=foretold(["SW2/1", "SW3/1"]))
    assert more.foretold.tolist() == [False, False, True, True]
    assert more.estimate[:2] == pytest.approx(plain.estimate[:2])
    assert more.sd[2:] == pytest.approx(np.ones((2, 2)))


def test_a_cask_foretold_with_a_reservation_stays_out() -> None:
    profile = profile_of(2, sd=6.0, together=0.0, common=0.0)
    found = foretold(["SW2/1", "SW3/1"], odd="SW3/1")
    stock = stock_from_profile(profile, casks_of(4), foretold=found)
    assert stock.foretold.tolist() == [False, False, True, False]
    assert np.isnan(stock.estimate[3]).all()


def test_what_foretold_casks_share_does_not_average_out_but_is_apart_for_each_note() -> None:
    """Ten casks of one wood err by what is wrong about the wood; the other note errs by its own."""
    profile = profile_of(2, sd=6.0, together=0.0, common=0.0)
    never = [f"SW{i}/1" for i in range(2, 12)]
    stock = stock_from_profile(profile, casks_of(12), foretold=foretold(never, shared=4.0))
    parts = {str(name): 50.0 for name in stock.names[2:]}
    found = try_shares(stock, parts, TARGET, Limits(litres=500), EXACT).mixture.expectation
    assert [line.sd for line in found.lines] == pytest.approx([np.sqrt(16 + 0.1)] * 2, rel=0.04)
    each = [line.probability for line in found.lines]
    assert found.probability == pytest.approx(each[0] * each[1], abs=0.02)


def test_a_plan_says_which_casks_nobody_nosed() -> None:
    profile = profile_of(2, sd=3.0, together=0.0, common=0.0)
    casks = casks_of(3).assign(bulk_l=[60.0, 60.0, 180.0])
    limits = Limits(litres=340, abv_percent=46, excess_fraction=0.2)
    stock = stock_from_profile(profile, casks, foretold=foretold(["SW2/1"], shared=1.0))
    plan = plan_vatting(stock, TARGET, limits, EXACT, in_full=True)
    assert isinstance(plan, VattingPlan)
    assert plan.mixture.foretold == ("SW2",)
    assert "Cask SW2 was never nosed: its notes are foretold" in plan.sentence
    assert plan.next_action.startswith("draw and nose cask SW2 first")
    part = next(part for part in plan.mixture.parts if part.cask == "SW2")
    assert part.note == "foretold, never nosed"
    assert [p["foretold"] for p in plan.to_dict()["parts"]].count(True) == 1


def served(profile: Profile, first: float, second: float) -> Profile:
    """Nobody knows what the order of serving did to the first note: two casks' shares in that."""
    assert profile.posterior is not None
    order = np.zeros((2, 2, 2))
    order[:, 0, 0] = first, second
    return replace(profile, posterior=replace(profile.posterior, order=order))


def test_what_the_order_of_serving_may_have_done_goes_along_with_the_casks() -> None:
    """Both served late err to one side; one early and one late make up for each other."""
    profile = profile_of(2, sd=6.0, together=0.3, common=0.0)
    found = {}
    for name, shares in (("late", (5.0, 5.0)), ("either", (5.0, -5.0))):
        stock = stock_from_profile(served(profile, *shares), casks_of(2))
        parts = dict.fromkeys(stock.names, 50.0)
        tried = try_shares(stock, parts, TARGET, Limits(litres=100), EXACT)
        found[name] = [line.sd for line in tried.mixture.expectation.lines]
    assert found["late"] == pytest.approx([np.sqrt(11.0 / 2 + 25.0), np.sqrt(18.0)], rel=0.03)
    assert found["either"] == pytest.approx([np.sqrt(11.0 / 2), np.sqrt(18.0)], rel=0.03)


def test_the_order_of_serving_stands_beside_what_foretold_casks_share() -> None:
    profile = served(profile_of(2, sd=6.0, together=0.0, common=0.0), 5.0, 5.0)
    stock = stock_from_profile(profile, casks_of(4), foretold=foretold(["SW2/1", "SW3/1"], 4.0))
    assert stock.note_loadings is not None
    wanted = [[5.0, 0.0, 0.0], [5.0, 0.0, 0.0], [0.0, 0.0, 4.0], [0.0, 0.0, 4.0]]
    assert stock.note_loadings[:, 0] == pytest.approx(np.array(wanted))


def test_errors_of_notes_are_independent_where_nobody_said_how_they_go_together() -> None:
    stock = plain(2)
    stock.sd[:] = [[2.0, 3.0], [4.0, np.nan]]
    found = _own_covariance(stock)
    assert found.tolist() == [[[4.0, 0.0], [0.0, 9.0]], [[16.0, 0.0], [0.0, 0.0]]]
    together = np.array([[[4.0, 1.0], [1.0, 9.0]]] * 2)
    held = replace(stock, covariance=together)
    assert _own_covariance(held).tolist() == together.tolist()
    assert _own_covariance(held) is not held.covariance

"""What a vatting tells: reach, what is not kept, prices and parts, of a few casks by hand."""

from __future__ import annotations

import os
import sys
from dataclasses import replace
from subprocess import run
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FitError, FrameError
from analysis.vatting import (
    Broken,
    LimitKey,
    LimitKind,
    Limits,
    MixingRule,
    NoVatting,
    PricedLimit,
    VattingPlan,
    build_stock,
    plan,
)
from analysis.vatting.learn import _check
from analysis.vatting.live import _broken_amounts, held_words
from analysis.vatting.mixing import expected_amounts
from analysis.vatting.model import build_model
from analysis.vatting.prices import Price
from analysis.vatting.reach import find_reach
from analysis.vatting.relax import _linprog, solve_relaxed
from analysis.vatting.swap import _Search
from analysis.vatting.task import band_of
from tests.analysis.vatting.test_rows_by_hand import PARTS, TARGET, plain, task_of
from tests.analysis.vatting.test_verdict import mixture_of

SHARE = LimitKey(LimitKind.SHARE, 2)


@pytest.mark.parametrize(
    ("smoke", "nearest", "outside"),
    [
        # The band is 30 to 42; what lies outside it is told by how far, what lies within is not.
        ([16.0, 20.0, 25.0, 15.0], 25.0, 5.0),
        ([50.0, 60.0, 45.0, 90.0], 45.0, 3.0),
        ([30.0, 42.0, 36.0, 36.0], None, 0.0),
    ],
)
def test_how_near_a_stock_comes(smoke: list[float], nearest: float | None, outside: float) -> None:
    stock = plain()
    stock.estimate[:, stock.descriptors.index("smoke")] = smoke
    stock.estimate[:, stock.descriptors.index("plum")] = 34.0
    task = task_of(replace(PARTS, litres=90.0), stock)
    model = build_model(task, band_of(task))
    found = find_reach(task, model, solve_relaxed(model))
    line, plum = found.lines
    assert found.reachable is (outside == 0.0)
    assert found.stopping == (None if outside == 0.0 else "smoke")
    assert found.missed_points == pytest.approx(outside, abs=1e-3)
    assert (line.descriptor, line.aim, line.tolerance) == ("smoke", 36.0, 6.0)
    assert line.outside == pytest.approx(outside, abs=1e-3)
    assert nearest is None or line.nearest == pytest.approx(nearest, abs=1e-3)
    assert [line.lowest_cask, line.highest_cask] == pytest.approx([min(smoke), max(smoke)])
    assert [plum.outside, plum.nearest] == pytest.approx([0.0, 34.0])


def mixed(final: float, sure: float, water_reason: str | None = None) -> Any:
    poured = SimpleNamespace(final_litres=final, sure_litres=sure, water_reason=water_reason)
    return SimpleNamespace(poured=poured)


@pytest.mark.parametrize(
    ("final", "sure", "said"),
    [
        (1000.0, 1000.0, None),
        (1100.0, 1000.0, None),
        (1100.0, 990.0, "It is 10.0 L at bottling strength short of 1,000 litres if its casks"),
        (1000.0, 990.0, "It is 10.0 L at bottling strength short of 1,000 litres if its casks"),
        (980.0, 970.0, "It is 20.0 L at bottling strength short of 1,000 litres."),
    ],
)
def test_litres_short_plainly_or_only_by_the_least_of_the_gauges(
    final: float, sure: float, said: str | None
) -> None:
    found = list(_broken_amounts(Limits(litres=1000.0), mixed(final, sure), over=False))
    assert [each.kind for each in found] == ([] if said is None else [LimitKind.QUANTITY])
    assert said is None or found[0].sentence.startswith(said)


def test_too_much_and_too_weak_are_told_each() -> None:
    limits = Limits(litres=1000.0, excess_fraction=0.05)
    found = list(_broken_amounts(limits, mixed(1200.0, 1200.0, "it is weaker"), over=True))
    assert [each.kind for each in found] == [LimitKind.EXCESS, LimitKind.STRENGTH]
    assert "more than 5 % over 1,000 litres" in found[0].sentence
    assert found[1].sentence == "It cannot be reduced: it is weaker."


def test_what_a_cask_holds_in_words() -> None:
    sure, reckoned = (plain(1, bulk_low=[low], bulk_high=[high]) for low, high in ENDS)
    assert held_words(sure, 0) == "100.0 L"
    assert held_words(reckoned, 0) == "100.0 L as reckoned from its gauges, 104.0 L at most"


ENDS = ((100.0, 100.0), (97.0, 104.0))


def test_a_limit_and_its_price_are_told_with_all_their_figures() -> None:
    broken = Broken(SHARE, "The share is 4 %.", ("C1",))
    assert (broken.kind, broken.which) == (LimitKind.SHARE, 2)
    price = PricedLimit(Price(SHARE, 4, 0.12, 3, 0.4), "the share", "It costs 4 casks.")
    assert price.to_dict() == {
        **{"limit": "the share", "kind": "share", "casks_barred": 4, "probability_cost": 0.12},
        **{"casks_saved": 3, "excess_without": 0.4, "sentence": "It costs 4 casks."},
    }


def test_shares_of_a_blend_add_up_to_one_and_columns_are_there() -> None:
    parts = pd.DataFrame(
        {"blend": "B1", "descriptor": "smoke", "share_lpa": [0.4, 0.6], "estimate": 1.0, "sd": 1.0}
    )
    nosed = pd.DataFrame({"blend": ["B1"], "descriptor": "smoke", "estimate": 1.0, "se": 1.0})
    _check(parts, nosed)
    _check(parts.assign(share_lpa=[0.4, 0.6 + 9e-7]), nosed)
    odd = pd.concat([parts.assign(blend="B0"), parts.assign(share_lpa=[0.4, 0.5])])
    with pytest.raises(FrameError, match=r"shares of blend B1 on smoke add up to 0\.9, not to 1"):
        _check(odd, nosed)
    for frames, said in (
        ((parts.drop(columns=["sd", "blend"]), nosed), "parts: .*blend, sd|blend, sd"),
        ((parts, nosed.drop(columns="se")), "Missing columns: se"),
    ):
        with pytest.raises(FrameError, match=said):
            _check(*frames)


def test_a_linear_solver_that_gives_up_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    """Status 0 is solved and 2 has no solution; anything else is told."""
    one, row = np.ones(1), np.ones((1, 1))
    solved = _linprog(-one, row, 2.0 * one, 0.0 * one, 3.0 * one)
    assert (solved.status, solved.x.tolist()) == (0, [2.0])
    assert _linprog(one, row, -one, 0.0 * one, one).status == 2
    with pytest.raises(FitError, match="gave up"):
        _linprog(-one, -row, one, 0.0 * one, np.inf * one)


def planned(**more: Any) -> VattingPlan:
    told: dict[str, Any] = {
        **{"target": "Fen", "sentence": "Two casks.", "next_action": "try it on the bench"},
        **{"quality_sentence": "Proven.", "cautions": ("Mind the vapour.", "Mind the label.")},
        **{"mixture": mixture_of(0.4), "proven": True, "gap": 0.0, "objective": 0.0, "bound": 0.0},
        **{"kappa": 0.0, "method": "lp", "solver_seconds": 0.0, "rounds": (), "reach": None},
        **{"n_eligible": 2, "barred": {}},
    }
    return VattingPlan(**{**told, **more})


def test_what_a_plan_reads_like() -> None:
    found = planned()
    assert list(found.said()) == [
        *("Fen: Two casks.", "Next: try it on the bench.", "Proven."),
        *("SW0800: 200 L of 60.0 %", "SW0801: 200 L of 60.0 %"),
        *("Mind the vapour.", "Mind the label."),
    ]
    assert tuple(found.rows()) == found.mixture.parts
    assert (found.probability, found.found) == (0.4, True)
    none = NoVatting(
        "Fen", "They cannot stand together.", ("the age", "the share"), (), True, 7, {}
    )
    assert list(none.said()) == ["Fen: They cannot stand together.", "7 casks could go in."]
    assert list(none.rows()) == [{"limit": "the age"}, {"limit": "the share"}]
    assert (none.found, none.to_dict()["probability"]) == (False, None)


def test_casks_that_do_not_average_out_are_counted_each_by_itself(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A vat not surely full is chosen once more, for one cask's whole error."""
    asked: list[float | None] = []
    chosen = SimpleNamespace(mixture=object())

    def tighten(task: Any, **_: Any) -> Any:
        asked.append(task.stock.margin_casks)
        return chosen

    monkeypatch.setattr(plan, "tighten", tighten)
    monkeypatch.setattr(plan, "_plan", lambda *_: "planned")
    for full, wanted in ((True, [None]), (False, [None, 1.0])):
        asked.clear()
        monkeypatch.setattr(plan, "surely_fills", lambda *_, full=full: full)
        found = plan.plan_vatting(plain(), TARGET, replace(PARTS, litres=90.0))
        assert cast(Any, found) == "planned"
        assert asked == wanted


def test_a_stock_has_the_columns_of_its_casks_without_those_that_were_emptied() -> None:
    casks = pd.DataFrame(
        {
            **{"cask": ["a", "b", "c"], "filling": ["a/1", "b/1", "c/1"], "abv": 58.0},
            **{"age_years": 12.0, "bulk_l": [100.0, 110.0, 120.0]},
            "status": ["emptied", "filled", "on hold"],
        }
    )
    rows = [("c", "wax", 5.0, 1.0), ("c", "smoke", 9.0, 2.0), ("b", "smoke", 7.0, 3.0)]
    figures = pd.DataFrame(rows, columns=["cask", "descriptor", "estimate", "sd"])
    found = build_stock(casks, figures, panel_sd={"wax": 1.5})
    assert list(found.casks.columns) == list(casks.columns)
    assert found.names.tolist() == ["b", "c"]
    assert found.descriptors == ("smoke", "wax")
    assert np.array_equal(found.estimate, [[7.0, np.nan], [9.0, 5.0]], equal_nan=True)
    assert np.array_equal(found.sd, [[3.0, np.nan], [2.0, 1.0]], equal_nan=True)
    assert found.panel_sd == {"wax": 1.5}


TWICE = """
import os
from analysis.vatting.unheard import _output, unheard
with unheard(): os.write(1, b"solver")
assert _output.kept == -1, _output.kept
there = os.open
def nowhere(*_): raise OSError
os.open = nowhere
with unheard(): pass
os.open = there
print("after", flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="the C library is found by another name")
def test_an_output_that_could_not_be_turned_off_stays_on() -> None:
    found = run([sys.executable, "-c", TWICE], capture_output=True, text=True, check=True)
    assert found.stdout == "after\n"


def test_the_best_cask_to_take_in_is_the_cheapest_one() -> None:
    """Values of 9, 4, 6 and 5 where a cask comes in; the one that is in is no choice."""
    costs = np.array([9.0, 1.0, 6.0, 5.0])
    terms: Any = SimpleNamespace(
        matrix=np.zeros((4, 1)), cost=costs, value=lambda _total, cost: np.asarray(cost)
    )
    search: Any = SimpleNamespace(terms=terms)
    inside, pool, total = np.array([0.0, 1.0, 0.0, 0.0]), np.arange(4), np.zeros(1)

    def step(out: int, cost: float) -> tuple[int, float]:
        return _Search._best_step(search, inside, terms, pool, total, cost, out)

    assert step(-1, 1.0) == (3, 6.0), "beside what is in, at 5 more"
    assert step(1, 1.0) == (-1, 0.0), "without it, and none in its place"
    costs[3] = -2.0
    assert step(1, 1.0) == (3, -2.0)


def test_amounts_of_draws_are_their_mean_on_the_line() -> None:
    drawn = np.array([[[40.0, -9.0]], [[60.0, 25.0]], [[140.0, 49.0]]])
    stock = replace(plain(1), draws=drawn)
    half = MixingRule({"plum": 2.0, "smoke": 1.0})
    found = expected_amounts(stock, stock.descriptors, half)
    roots = {"smoke": (40.0 + 60.0 + 100.0) / 3.0, "plum": (0.0 + 5.0 + 7.0) / 3.0}
    assert dict(zip(stock.descriptors, found.mean[0].tolist(), strict=True)) == pytest.approx(roots)

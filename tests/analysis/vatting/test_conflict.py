from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest

from analysis.vatting import (
    Basis,
    Drawing,
    LimitKey,
    LimitKind,
    Limits,
    MixingRule,
    NoVatting,
    Share,
    Stock,
    plan_vatting,
)
from analysis.vatting.conflict import Conflict, _look, _without_band, find_conflict
from analysis.vatting.limits import limit_keys
from analysis.vatting.relax import solve_relaxed
from analysis.vatting.task import make_task
from tests.analysis.vatting.brute import broken, every_whole
from tests.analysis.vatting.test_rows_by_hand import (
    PARTS,
    THREE,
    model_of,
    plain,
)
from tests.houses.stocks import stock_of, target_of

TARGET = target_of({"smoke": 35.0}, 20.0)


def nothing_for(stock: Stock, limits: Limits) -> NoVatting:
    found = plan_vatting(stock, TARGET, limits)
    assert isinstance(found, NoVatting)
    return found


def test_limits_that_can_stand_together_prove_nothing() -> None:
    task = make_task(stock_of(12), TARGET, Limits(litres=900), MixingRule())
    assert find_conflict(task) == Conflict((), proven=False)


def test_a_young_make_and_an_age_statement() -> None:
    stock = stock_of(12, make=["Reed"] * 4 + ["Ember"] * 8, age_years=[9.0] * 4 + [15.0] * 8)
    limits = Limits(
        litres=900,
        drawing=Drawing.PART,
        age_statement_years=12,
        shares=(Share("make", ("Reed",), 0.2, 0.5),),
        casks_max=11,
    )
    found = nothing_for(stock, limits)
    assert found.proven
    kinds = {key.kind for key in found.keys}
    assert kinds == {LimitKind.QUANTITY, LimitKind.AGE, LimitKind.SHARE}
    assert "cannot stand together" in found.sentence
    assert "the age statement of 12 years" in found.sentence


def test_whole_casks_that_come_in_lumps() -> None:
    stock = stock_of(8, bulk_l=[200.0] * 8, abv=[60.0] * 8)
    found = nothing_for(stock, Limits(litres=400))  # 184 LPA, casks of 120
    assert {key.kind for key in found.keys} == {
        LimitKind.QUANTITY,
        LimitKind.EXCESS,
        LimitKind.WHOLE,
    }
    assert found.proven


def test_strength_that_only_a_few_casks_have() -> None:
    stock = stock_of(10, abv=[62.0] + [50.0] * 9, bulk_l=[150.0] * 10)
    found = nothing_for(stock, Limits(litres=600, abv_percent=58.0, drawing=Drawing.PART))
    assert {key.kind for key in found.keys} == {LimitKind.QUANTITY, LimitKind.STRENGTH}


CONFLICTS = [
    Limits(litres=800, casks_min=5, casks_max=5, must_include=("C000", "C001")),
    Limits(litres=800, abv_percent=57.0, shares=(Share("wood", ("oak butt",), 0.9, 1.0),)),
    Limits(
        litres=900,
        casks_max=5,
        shares=(
            Share("wood", ("oak butt",), 0.5, 0.52, Basis.CASKS),
            Share("make", ("Reed",), 0.33, 0.34, Basis.CASKS),
        ),
    ),
]


@pytest.mark.parametrize("limits", CONFLICTS)
def test_each_limit_told_is_needed_for_the_conflict(limits: Limits) -> None:
    """Against all choices of whole casks: the set has no answer, any smaller one has."""
    stock = stock_of(9, seed=7)
    task = make_task(stock, TARGET, limits, MixingRule())
    conflict = find_conflict(task)
    if not conflict.keys:
        assert has_answer(stock, limits, limit_keys(limits))
        return
    assert conflict.proven
    whole = LimitKey(LimitKind.WHOLE)
    assert not has_answer(stock, limits, (*conflict.keys, whole))
    for fewer in combinations(conflict.keys, len(conflict.keys) - 1):
        if whole in fewer:
            assert has_answer(stock, limits, fewer)


def has_answer(stock: Stock, limits: Limits, keys: tuple[LimitKey, ...]) -> bool:
    kinds = {key.kind for key in keys}
    shares = {limits.shares[key.which].words for key in keys if key.kind is LimitKind.SHARE}
    included = tuple(
        limits.must_include[key.which] for key in keys if key.kind is LimitKind.MUST_INCLUDE
    )
    kept = Limits(
        litres=limits.litres,
        abv_percent=limits.abv_percent,
        shares=tuple(share for share in limits.shares if share.words in shares),
        casks_min=limits.casks_min if LimitKind.CASKS_MIN in kinds else None,
        casks_max=limits.casks_max if LimitKind.CASKS_MAX in kinds else None,
        must_include=included,
        excess_fraction=None,
    )
    pardoned = {
        *([] if LimitKind.QUANTITY in kinds else ["short"]),
        *([] if LimitKind.EXCESS in kinds else ["over"]),
        *([] if LimitKind.STRENGTH in kinds else ["strength"]),
    }
    return any(not set(broken(stock, kept, litres)) - pardoned for litres in every_whole(stock))


def test_whether_limits_stand_is_looked_at_with_whole_casks_and_with_draws() -> None:
    for limits in (THREE, replace(PARTS, litres=354.0)):
        model = _without_band(model_of(limits, plain(5)))
        assert _look(model, solve_relaxed(model)) is True
    lumps = _without_band(model_of(replace(THREE, litres=300.0), plain(5)))
    assert _look(lumps, solve_relaxed(lumps)) is False, "two casks are 240 L, three are 360"

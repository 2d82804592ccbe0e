"""Which limits are named, and which of several answers is taken: the choosing without the solving.

What a set of limits or a set of casks comes to stands in a table here, so that the answer is known.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from analysis.vatting import Limits, MixingRule, Stock
from analysis.vatting import conflict as conflicts
from analysis.vatting import exchanged as exchanging
from analysis.vatting import tighten as tightening
from analysis.vatting.answers import different_answers
from analysis.vatting.chance import Stream, expect, vat_sd
from analysis.vatting.conflict import Conflict, find_conflict
from analysis.vatting.limits import LimitKey, LimitKind
from analysis.vatting.prices import price_limits
from analysis.vatting.relax import solve_relaxed
from analysis.vatting.solve import Found, Method, solve
from analysis.vatting.task import Band, band_of, make_task
from analysis.vatting.tighten import Tightened, _best, _same, chosen_litres, tighten
from tests.analysis.vatting.test_rows_by_hand import LITRES, TARGET, model_of, plain, task_of

ASKED = replace(LITRES, age_statement_years=12, casks_max=2, must_exclude=("C000",))
AGE, OUT, EXCESS = LimitKind.AGE, LimitKind.MUST_EXCLUDE, LimitKind.EXCESS
MOST, MUCH, WHOLE = LimitKind.CASKS_MAX, LimitKind.QUANTITY, LimitKind.WHOLE


def conflict_of(
    monkeypatch: pytest.MonkeyPatch, *sets: Collection[LimitKind], unsure: bool = False
) -> tuple[Conflict, int]:
    """The conflict found where just these sets cannot stand, and how often was looked."""
    looked = 0

    def stands(_task: object, _all: object, kept: Sequence[Any]) -> bool | None:
        nonlocal looked
        looked += 1
        kinds = {key.kind for key in kept}
        return (None if unsure else False) if any(kinds >= set(one) for one in sets) else True

    monkeypatch.setattr(conflicts, "_stands", stands)
    return find_conflict(task_of(ASKED)), looked


@pytest.mark.parametrize(
    ("sets", "told"),
    [
        ([], []),
        ([[AGE]], [AGE]),
        ([[AGE, MOST]], [AGE, MOST]),
        ([[AGE, MOST, WHOLE, MUCH]], [MUCH, AGE, MOST, WHOLE]),
        # What nobody would name as the cause is left out first, so that the other is told.
        ([[OUT, MUCH], [AGE, MUCH]], [MUCH, AGE]),
        # The larger is what remains when one after another is left out; the smaller is told.
        ([[MOST, MUCH, WHOLE], [AGE, EXCESS]], [EXCESS, AGE]),
        ([[MOST, MUCH, WHOLE], [EXCESS]], [EXCESS]),
    ],
)
def test_the_fewest_limits_that_cannot_stand_together_are_told(
    monkeypatch: pytest.MonkeyPatch, sets: list[list[LimitKind]], told: list[LimitKind]
) -> None:
    found, _ = conflict_of(monkeypatch, *sets)
    assert [key.kind for key in found.keys] == told
    assert found.proven is bool(told)


def test_what_only_was_not_found_is_not_proven(monkeypatch: pytest.MonkeyPatch) -> None:
    found, _ = conflict_of(monkeypatch, [MOST, MUCH, WHOLE], [AGE, EXCESS], unsure=True)
    assert [key.kind for key in found.keys] == [MUCH, MOST, WHOLE]
    assert not found.proven


def test_looking_for_a_conflict_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(conflicts, "_LOOKS", 3)
    found, looked = conflict_of(monkeypatch, [MOST, MUCH, WHOLE])
    assert looked == 4, "the question itself, and three"
    assert not found.proven
    assert {MOST, MUCH, WHOLE} <= {key.kind for key in found.keys}
    monkeypatch.setattr(conflicts, "_LOOKS", 8)
    found, looked = conflict_of(monkeypatch, [MOST, MUCH, WHOLE])
    assert (looked, found.proven) == (9, True)
    assert [key.kind for key in found.keys] == [MUCH, MOST, WHOLE]


def test_no_cask_at_all_is_a_conflict_with_the_quantity_alone() -> None:
    task = task_of(replace(LITRES, must_exclude=tuple(f"C00{n}" for n in range(4))))
    quantity, out = (LimitKey(kind) for kind in (MUCH, OUT))
    both = (quantity, out)
    assert conflicts._stands(task, both, both) is False
    assert conflicts._stands(task, both, (out,)) is True
    # Of four casks of 120 L at 50 % a thousand litres are not made, 236 L are.
    assert conflicts._stands(task, both, (quantity,)) is False
    assert conflicts._stands(task_of(replace(LITRES, litres=236.0)), both, (quantity,)) is True


PAIR = Limits(litres=236.0, abv_percent=50.0)
"""What two of four casks of 100 L at 60 % give: 240 L, 2 % over."""


def alike() -> Stock:
    """Four casks of which one choice lies as near as another."""
    stock = plain()
    stock.estimate[:] = 40.0
    return stock


def found_of(casks: Sequence[int], points: float, **limits: Any) -> Tightened:
    asked = replace(PAIR, **limits)
    task, model = task_of(asked, alike()), model_of(asked, alike())
    fractions = np.isin(np.arange(4), casks).astype(np.float64)
    relaxed = solve_relaxed(model)
    found = Found(model, relaxed, fractions, points, -1.0, False, Method.SWAPS, 0.0)
    return Tightened(found, found, band_of(task), 0.0, None, ())


CHANCES = {(0, 1): 0.5, (0, 2): 0.6, (1, 3): 0.7, (2, 3): 0.9, (0, 3): 0.5, (1, 2): 0.4}


@pytest.fixture
def by_table(monkeypatch: pytest.MonkeyPatch) -> None:
    def chance(_task: object, found: Found, _stream: object) -> float:
        assert found.fractions is not None
        return CHANCES[tuple(np.flatnonzero(found.fractions).tolist())]  # type: ignore[index]

    monkeypatch.setattr(exchanging, "chance_of", chance)


@pytest.mark.parametrize(
    ("points", "limits", "casks"),
    [
        (1e6, {}, [2, 3]),  # over (1, 3), one exchange after another
        (-1.0, {}, [0, 1]),  # every other choice lies further off
        (1e6, {"must_include": ("C000",)}, [0, 2]),
        (1e6, {"must_include": ("C001",)}, [1, 3]),
    ],
)
@pytest.mark.usefixtures("by_table")
def test_casks_are_exchanged_one_by_one_while_it_gets_surer(
    points: float, limits: dict[str, Any], casks: list[int]
) -> None:
    chosen = found_of([0, 1], points, **limits)
    after = exchanging.exchanged(task_of(replace(PAIR, **limits), alike()), chosen)
    assert after.found.fractions is not None
    assert np.flatnonzero(after.found.fractions).tolist() == casks
    assert (after is chosen) is (casks == [0, 1])
    if after is not chosen:
        assert after.mixture is not None
        assert sorted(after.mixture.casks) == [f"C00{cask}" for cask in casks]
        assert after.found.objective == after.found.model.objective(after.found.fractions)


@pytest.mark.usefixtures("by_table")
def test_an_exchange_must_fill_what_was_asked_and_so_many_are_simulated(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    task, found = task_of(PAIR, alike()), found_of([0, 1], 1e6).found
    surer, left = exchanging._surest_exchange(task, found, 0.5, 100)
    assert surer is not None
    assert (surer[1], left) == (0.7, 100 - 4 * 2)  # four exchanges of two casks each
    first, left = exchanging._surest_exchange(task, found, 0.5, 3)
    assert left < 0
    assert first is None or first[1] < 0.7
    none, _ = exchanging._surest_exchange(task, found, 0.7, 100)
    assert none is None, "no surer than it is"
    monkeypatch.setattr(exchanging, "surely_fills", lambda _mixture, _limits: False)
    assert exchanging._surest_exchange(task, found, 0.5, 100)[0] is None


def test_other_answers_are_others_and_none_where_all_casks_are_asked_for() -> None:
    task = task_of(replace(LITRES, litres=472.0))
    chosen = tighten(task, kappas=(0.0,))
    assert len(different_answers(task, chosen, count=3).mixtures) == 1
    two = task_of(PAIR)
    chosen = tighten(two, kappas=(0.0,))
    found = different_answers(two, chosen, count=2)
    sets = [set(mixture.casks) for mixture in found.mixtures]
    assert len(sets) == 2
    assert len(sets[0] & sets[1]) <= 1, "half of a small one differs"
    assert found.mixtures[0].casks == (found.chosen.mixture and found.chosen.mixture.casks)
    nothing = replace(chosen, mixture=None)
    assert different_answers(two, nothing).mixtures == ()
    assert price_limits(two, nothing, ()) == ()


def test_a_band_that_is_drawn_in_as_far_as_it_goes_is_solved_once() -> None:
    task = task_of(PAIR)
    assert [one.kappa for one in tighten(task, kappas=(0.0, 90.0, 180.0)).rounds] == [0.0, 90.0]
    impossible = task_of(LITRES)
    assert [one.kappa for one in tighten(impossible, kappas=(0.0, 1.0)).rounds] == [0.0]
    low, high = np.array([1.0, 2.0]), np.array([3.0, 4.0])
    assert _same(Band(low, high), Band(low.copy(), high.copy()))
    assert not _same(Band(low, high), Band(low, high + 1.0))
    assert not _same(Band(low, high), Band(low + 1.0, high))


def test_the_surest_round_is_kept_beside_the_first() -> None:
    task = task_of(PAIR, alike())
    one, other = found_of([0, 1], 1.0).found, found_of([2, 3], 2.0).found
    none = replace(one, fractions=None)
    bands = [band_of(task), band_of(task, 1.0, np.ones(2)), band_of(task, 2.0, np.ones(2))]
    rounds = list(zip((0.0, 1.0, 2.0), (one, other, none), bands, (0.2, 0.4, None), strict=True))
    best = _best(task, rounds)
    assert (best.kappa, best.found, best.first) == (1.0, other, one)
    assert best.band is bands[1]
    assert best.mixture is not None
    assert sorted(best.mixture.casks) == ["C002", "C003"]
    assert [each.n_casks for each in best.rounds] == [2, 2, 0]
    assert [each.objective for each in best.rounds] == [1.0, 2.0, 1.0]
    assert best.rounds[2].probability is None
    assert _best(task, [(0.0, none, bands[0], None)]).mixture is None
    assert [len(part) for part in chosen_litres(none)] == [0, 0]


def test_the_spread_of_a_vatting_is_that_of_its_shares() -> None:
    """Of independent errors of one size: the root of the sum of squared shares, for any scale."""
    stock = plain()
    stock.sd[:] = 4.0
    stock.estimate[:] = 40.0
    task = make_task(stock, TARGET, LITRES, MixingRule(rule_sd=0.0))
    rows, lpa = np.arange(3), np.array([60.0, 30.0, 30.0])
    expected = 4.0 * np.sqrt(0.5**2 + 2 * 0.25**2)
    found = vat_sd(task, rows, lpa)
    assert found == pytest.approx([expected] * 2, rel=0.05)
    assert vat_sd(task, rows, 7.0 * lpa) == pytest.approx(found)


def test_an_answer_that_breaks_a_limit_or_is_worse_is_no_answer() -> None:
    model = model_of(PAIR)
    best = solve(model)
    assert best.proven
    assert best.gap <= 0.001
    bad = solve(model, start=np.array([1.0, 0.0, 0.0, 0.0]))  # too little
    assert bad.objective == pytest.approx(best.objective)
    impossible = solve(model_of(LITRES))
    assert (impossible.fractions, impossible.infeasible) == (None, True)
    assert not impossible.proven
    assert replace(best, bound=best.objective - 0.25).gap == pytest.approx(0.25)
    assert replace(best, bound=best.objective + 1.0).gap == 0.0
    assert not replace(best, bound=best.objective - 0.25).proven


def test_the_surest_of_the_rounds_is_chosen_by_one_stream_and_told_by_another(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Told by the draws that chose it, the best of several would look surer than it is."""
    choosing = iter((0.4, 0.8, None))

    def chance(_task: object, _found: Found, stream: Stream) -> float | None:
        return next(choosing) if stream is Stream.CHOOSING else 0.25

    task = task_of(PAIR)
    monkeypatch.setattr(tightening, "chance_of", chance)
    found = tighten(task, kappas=(0.0, 0.5, 1.0))
    assert found.kappa == 0.5
    assert [(one.kappa, one.probability) for one in found.rounds] == [
        (0.0, 0.25),
        (0.5, 0.25),
        (1.0, 0.25),
    ]
    rows, litres = chosen_litres(found.found)
    assert found.mixture is not None
    told = expect(task, rows, litres, stream=Stream.TOLD)
    assert found.mixture.probability == told.probability

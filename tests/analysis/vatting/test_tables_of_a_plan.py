"""What a plan says of its limits, parts and stock, by tables of small values."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FrameError
from analysis.vatting import (
    BatchAfter,
    BatchBefore,
    Drawing,
    GaugeRule,
    LimitKey,
    LimitKind,
    Limits,
    NoteBefore,
    Price,
    Share,
    build_stock,
)
from analysis.vatting.batch import BatchLine
from analysis.vatting.batch_verdict import batch_action, batch_sentence
from analysis.vatting.conflict import Conflict
from analysis.vatting.eligible import eligible_casks
from analysis.vatting.limits import limit_keys
from analysis.vatting.live import _broken_counts
from analysis.vatting.mixture import _known
from analysis.vatting.numbers import number_faults
from analysis.vatting.prices import _price
from analysis.vatting.reach import Reach
from analysis.vatting.records import bars_in
from analysis.vatting.safe import Sure, safe_share, sure_of
from analysis.vatting.verdict import (
    conflict_sentence,
    price_sentence,
    reach_sentence,
    tried_action,
    tried_sentence,
)
from tests.analysis.vatting.test_rows_by_hand import LITRES, plain, task_of
from tests.analysis.vatting.test_verdict import mixture_of

PLAIN = Limits(bottles=600, abv_percent=None)
ALWAYS = {LimitKind.QUANTITY, LimitKind.EXCESS}


@pytest.mark.parametrize(
    ("limits", "more"),
    [
        ({}, {LimitKind.WHOLE}),
        ({"abv_percent": 46.0}, {LimitKind.WHOLE, LimitKind.STRENGTH}),
        ({"casks_min": 2, "casks_max": 3}, {"WHOLE", "CASKS_MIN", "CASKS_MAX"}),
        ({"smallest_draw_litres": 0.5}, {LimitKind.WHOLE}),
        ({"drawing": Drawing.PART, "smallest_draw_litres": 0.5}, {LimitKind.SMALLEST_DRAW}),
        ({"drawing": Drawing.PART, "smallest_draw_litres": 0.0}, set()),
        ({"drawing": Drawing.PART, "leave_litres": 0.0}, {"SMALLEST_DRAW", "LEAVE"}),
        ({"leave_litres": 5.0}, {LimitKind.WHOLE}),
        ({"minimum_cask_lpa": 0.1}, {LimitKind.WHOLE, LimitKind.CASK_LPA}),
        ({"gauge_max_age_years": 2.0}, {LimitKind.WHOLE}),
        ({"gauge_rule": GaugeRule.REFUSE}, {LimitKind.WHOLE}),
        ({"gauge_max_age_years": 2.0, "gauge_rule": GaugeRule.REFUSE}, {"WHOLE", "GAUGE"}),
        ({"must_exclude": ("a", "b")}, {LimitKind.WHOLE, LimitKind.MUST_EXCLUDE}),
    ],
)
def test_which_limits_are_in_force(limits: dict[str, Any], more: set[str]) -> None:
    kinds = [LimitKind[each] if each.isupper() else LimitKind(each) for each in more]
    assert {key.kind for key in limit_keys(replace(PLAIN, **limits))} == {*ALWAYS, *kinds}


def test_of_several_shares_and_casks_each_is_a_limit() -> None:
    shares = tuple(Share.about("wood", wood, 0.3) for wood in ("a", "b"))
    found = limit_keys(replace(PLAIN, shares=shares, must_include=("x", "y", "z")))
    several = [key.which for key in found if key.kind in {LimitKind.SHARE, LimitKind.MUST_INCLUDE}]
    assert several == [0, 1, 0, 1, 2]


@pytest.mark.parametrize(
    ("limits", "kind"),
    [
        ({"minimum_cask_lpa": 60.1}, LimitKind.CASK_LPA),
        ({"age_statement_years": 13}, LimitKind.AGE),
        ({"gauge_max_age_years": 2.0, "gauge_rule": GaugeRule.REFUSE}, LimitKind.GAUGE),
        ({"must_exclude": ("C000", "C001", "C002", "C003")}, LimitKind.MUST_EXCLUDE),
    ],
)
def test_a_limit_that_is_lifted_keeps_no_cask_out(limits: dict[str, Any], kind: LimitKind) -> None:
    stock, asked = plain(gauge_age_years=[3.0] * 4), replace(LITRES, **limits)
    assert not len(eligible_casks(stock, ("smoke",), asked).rows)
    lifted = frozenset({LimitKey(kind)})
    assert len(eligible_casks(stock, ("smoke",), asked, lifted).rows) == 4


def test_what_is_known_of_a_part() -> None:
    """A cask that is emptied gives whatever it holds; the litres of a part are sure."""
    told = {"abv_low": [59.0, np.nan], "abv_high": [61.0, np.nan], "moved": ["moved", None]}
    stock = plain(2, bulk_low=[90.0] * 2, bulk_high=[120.0] * 2, reserved_l=[0.0, 40.0], **told)
    whole, part = _known(stock, 0, 100.0), _known(stock, 0, 99.9)
    assert (whole["litres_low"], whole["litres_high"]) == (pytest.approx(90), pytest.approx(120))
    assert (part["litres_low"], part["litres_high"]) == (99.9, 99.9)
    free = _known(stock, 1, 60.0)  # all that is not reserved
    assert (free["litres_low"], free["litres_high"]) == (pytest.approx(54), pytest.approx(72))
    assert (whole["abv_low"], whole["abv_high"], whole["moved"]) == (59.0, 61.0, "moved")
    assert (free["abv_low"], free["moved"]) == (None, None)
    assert _known(plain(2), 0, 100.0) == {}


def test_a_bottling_date_needs_that_of_the_stock() -> None:
    asked = Limits(bottles=1, bottling_on=date(2026, 1, 15))
    assert len(list(number_faults(replace(plain(2), as_of=None), asked))) == 1
    assert list(number_faults(replace(plain(2), as_of=None), Limits(bottles=1))) == []


@pytest.mark.parametrize(
    ("count", "kinds"), [(1, ["CASKS_MIN"]), (2, []), (3, []), (4, ["CASKS_MAX"])]
)
def test_how_many_casks_are_too_few_or_too_many(count: int, kinds: list[str]) -> None:
    found = _broken_counts(replace(PLAIN, casks_min=2, casks_max=3), count)
    assert [each.kind for each in found] == [LimitKind[kind] for kind in kinds]
    assert list(_broken_counts(PLAIN, count)) == []


NOTE = {"cask": "a", "descriptor": "smoke", "estimate": 1.0, "sd": 1.0}


def test_predictions_that_cannot_be_laid_out_are_refused() -> None:
    casks = plain(2).casks.assign(cask=["a", "b"])
    for rows, said in (
        ([{name: 1 for name in ("cask", "descriptor")}], "Missing columns: estimate, sd"),
        ([NOTE, {**NOTE, "cask": "b"}, NOTE], "Cask a has more than one prediction of smoke"),
    ):
        with pytest.raises(FrameError, match=said):
            build_stock(casks, pd.DataFrame(rows))
    assert build_stock(casks, pd.DataFrame([NOTE])).estimate[:, 0].tolist()[0] == 1.0


@pytest.mark.parametrize(
    ("arrays", "said"),
    [
        ({"sd": np.full((2, 2), -0.1)}, "below zero"),
        ({"sd": np.zeros((2, 1))}, "standard deviations have shape"),
        ({"loadings": np.zeros((2, 1, 3))}, "shared errors need shape"),
        ({"note_loadings": np.zeros((1, 2, 3))}, "shared errors need shape"),
        ({"covariance": np.zeros((2, 2, 1))}, "covariances need shape"),
        ({"draws": np.zeros((5, 1, 2))}, "joint draws need shape"),
    ],
)
def test_arrays_that_do_not_fit_the_casks_are_refused(arrays: dict[str, Any], said: str) -> None:
    with pytest.raises(FrameError, match=said):
        replace(plain(2), **arrays)
    fitting: dict[str, Any] = {
        "loadings": np.zeros((2, 2, 3)),
        "note_loadings": np.zeros((2, 2, 1)),
    }
    fitting |= {"covariance": np.zeros((2, 2, 2)), "draws": np.zeros((5, 2, 2))}
    assert len(replace(plain(2), sd=np.zeros((2, 2)), **fitting)) == 2


def test_bars_that_the_records_gave_are_taken_as_they_are() -> None:
    given: list[Any] = [("anything",), ()]
    casks = plain(2, status=["emptied"] * 2).casks.assign(bars=pd.Series(given))
    assert bars_in(casks) == given
    assert all(bars_in(casks.drop(columns="bars")))


def test_what_is_sure_of_nothing() -> None:
    """Nothing is off where nothing is poured; and where no cask has any, one averages itself."""
    stock = plain(2, bulk_error=[0.03] * 2, bulk_shared=[0.01] * 2)
    assert sure_of(stock, LITRES, np.arange(2), np.zeros(2)) == Sure(1.0, 1.0)
    share = safe_share(stock, LITRES, 480.0, np.zeros(2))
    assert share.tolist() == pytest.approx([1.0 - 1.6449 * 0.04] * 2, rel=1e-3)
    shared = plain(2, bulk_shared=[0.01] * 2)  # no error of the casks' own
    assert safe_share(shared, LITRES, 480.0, np.full(2, 60.0))[0] < 1.0
    wide = plain(2, bulk_error=[3.0] * 2)
    assert safe_share(wide, LITRES, 60.0, np.full(2, 60.0)).tolist() == [0.0, 0.0]
    assert sure_of(wide, LITRES, np.arange(2), np.full(2, 100.0)).low == 0.0
    fixed = replace(stock, margin_casks=4.0)
    expected = [1.0 - 1.6449 * (0.01 + 0.03 / 2.0)] * 2
    found = safe_share(fixed, LITRES, 480.0, np.full(2, 60.0))
    assert found.tolist() == pytest.approx(expected, rel=1e-3)


def batch(probability: float, *, n: int = 2, nosed: bool = True, lines: int = 2) -> BatchAfter:
    notes = (NoteBefore("smoke", 20.0, 1.0), NoteBefore("plum", 30.0, 1.0))
    before = BatchBefore("L1", "Fen", notes, sample="B1" if nosed else None)
    told = (
        BatchLine("smoke", 20.0, 24.0, 4.0, 1.0, 0.9),
        BatchLine("plum", 30.0, 25.0, -5.0, 1.0, 0.8),
    )
    return BatchAfter(before, 10.0, n, 300, 290, probability, told[:lines])


@pytest.mark.parametrize(
    ("probability", "said"), [(0.5, "mix it on the bench"), (0.499, "look at plum first")]
)
def test_a_batch_goes_to_the_bench_from_even_chances(probability: float, said: str) -> None:
    assert batch_action(batch(probability)).startswith(said)


def test_a_batch_in_words() -> None:
    said = batch_sentence(batch(0.75))
    assert "For our panel, the last batch" in said
    assert "furthest off is plum, -5." in said
    assert "each other on every note with a chance of 75 in 100" in said
    assert batch_sentence(batch(0.75, n=1, lines=1)).startswith("1 cask, 300 bottles")
    assert "on smoke with" in batch_sentence(batch(0.75, lines=1))
    assert ("Nobody nosed" in batch_sentence(batch(0.7, nosed=False)), "Nobody" in said) == (
        True,
        False,
    )
    assert (batch(0.7).furthest, batch(0.7).furthest_points) == ("plum", -5.0)
    assert (batch(0.7).nosed, batch(0.7, nosed=False).nosed) == (True, False)


@pytest.mark.parametrize(
    ("probability", "foretold", "broken", "said"),
    [
        (0.9, 1, 1, "change casks or litres until every limit is kept"),
        (0.9, 1, 0, "draw and nose cask SW0800 first"),
        (0.8, 0, 0, "mix it on the bench and nose it blind against the target"),
        (0.799, 0, 0, "look at smoke first"),
        (0.5, 0, 0, "look at smoke first"),
        (0.499, 0, 0, "change casks or litres for smoke before mixing"),
    ],
)
def test_what_to_do_with_litres_put_together_by_hand(
    probability: float, foretold: int, broken: int, said: str
) -> None:
    assert said in tried_action(mixture_of(probability, foretold), broken)


def test_what_a_limit_costs_in_words_and_figures() -> None:
    more = Price(LimitKey(LimitKind.EXCESS), 0, 0.2, 0, 0.12)
    other = Price(LimitKey(LimitKind.CASKS_MAX), 0, 0.2, 0, 0.12)
    assert "(what 12 % over would give)" in price_sentence(more, PLAIN)
    assert "would give" not in price_sentence(other, replace(PLAIN, casks_max=2))
    task = task_of(replace(LITRES, litres=200.0, must_exclude=("C000",)))

    def made(chance: float, parts: int, litres: float) -> Any:
        poured = SimpleNamespace(final_litres=litres)
        return SimpleNamespace(probability=chance, parts=(None,) * parts, poured=poured)

    key, here = LimitKey(LimitKind.MUST_EXCLUDE), made(0.5, 3, 210.0)
    surer = _price(task, here, key, made(0.75, 2, 230.0))
    assert replace(surer, excess_without=0.0) == Price(key, 1, 0.25, 1)
    assert surer.excess_without == pytest.approx(0.15)
    for none in (None, made(0.5, 2, 230.0), made(0.4, 2, 230.0)):
        same = _price(task, here, key, none)
        assert replace(same, excess_without=0.0) == Price(key, 1, 0.0, 0)
        assert same.excess_without == pytest.approx(0.05)


def test_sentences_of_what_is_possible() -> None:
    one = Conflict((LimitKey(LimitKind.QUANTITY),), proven=True)
    assert "cannot be met by the casks" in conflict_sentence(one, PLAIN)
    assert "can reach every line" in reach_sentence(Reach(True, 0.0, None, ()))
    tried = tried_sentence(_poured_of())
    assert tried.startswith("Put together by hand: 2 casks give 300 bottles at 46.0 % vol")
    assert "Cask SW0800 was never nosed" in tried


def _poured_of() -> Any:
    made = mixture_of(0.7, 1)
    line = SimpleNamespace(descriptor="smoke", probability=0.7)
    poured = SimpleNamespace(bottles=300, bottling_abv_percent=46.0)
    expectation = replace(made.expectation, lines=(cast(Any, line),))
    return replace(made, poured=cast(Any, poured), expectation=expectation)

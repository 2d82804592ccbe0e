"""A batch beside the one before: its chance against a simulation written apart, and its words."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.errors import InputError
from analysis.target import Target, TargetLine
from analysis.vatting import (
    BatchBefore,
    Limits,
    MixingRule,
    NoteBefore,
    Stock,
    as_before,
    batch_after,
    build_stock,
    recipe_shares,
    try_shares,
)
from analysis.vatting.batch_verdict import signed

NOTES = ("smoke", "plum", "flour")
ESTIMATE = np.array([[20.0, 30.0, 45.0], [28.0, 22.0, 50.0], [24.0, 38.0, 40.0]])
SD = np.array([[3.0, 4.0, 2.0], [4.0, 3.0, 3.0], [2.0, 5.0, 4.0]])
LITRES = {"a": 100.0, "b": 60.0, "c": 40.0}
BEFORE = BatchBefore(
    "L24-1",
    "Fen-1",
    (NoteBefore("smoke", 27.0, 2.0), NoteBefore("plum", 26.0, 3.0), NoteBefore("flour", 44.0, 1.5)),
    sample="Fen-1-B1",
    sessions=("night-3",),
    nosing_abv_percent=20.0,
)
TARGET = Target("Fen", tuple(TargetLine(name, 30.0, 5.0) for name in NOTES))
LIMITS = Limits(abv_percent=46.0)


def stock() -> Stock:
    casks = pd.DataFrame(
        {
            "cask": list(LITRES),
            "filling": [f"{name}/1" for name in LITRES],
            "age_years": 12.0,
            "abv": [60.0, 55.0, 58.0],
            "bulk_l": 150.0,
        }
    )
    notes = pd.DataFrame(
        [
            {"cask": cask, "descriptor": note, "estimate": ESTIMATE[i, j], "sd": SD[i, j]}
            for i, cask in enumerate(LITRES)
            for j, note in enumerate(NOTES)
        ]
    )
    return build_stock(casks, notes)


def test_the_chance_is_that_of_two_batches_drawn_apart() -> None:
    """Both batches simulated here by plain numpy: 400,000 pairs."""
    held, aim = as_before(stock(), TARGET, BEFORE, within_points=6.0)
    rule = MixingRule(rule_sd=0.0)
    tried = try_shares(held, LITRES, aim, replace(LIMITS), rule)
    rng = np.random.default_rng(5)
    lpa = np.array([100.0 * 60.0, 60.0 * 55.0, 40.0 * 58.0])
    n = 400_000
    new = np.einsum("k,nkd->nd", lpa / lpa.sum(), ESTIMATE + SD * rng.standard_normal((n, 3, 3)))
    last = np.array([note.estimate for note in BEFORE.notes]) + np.array(
        [note.sd for note in BEFORE.notes]
    ) * rng.standard_normal((n, 3))
    inside = np.abs(new - last) <= 6.0
    found = batch_after(tried.mixture, BEFORE, TARGET, LIMITS, within_points=6.0)
    assert found.probability == pytest.approx(inside.all(axis=1).mean(), abs=0.01)
    for line, each in zip(found.lines, inside.mean(axis=0), strict=True):
        assert line.probability == pytest.approx(each, abs=0.01)
        assert line.difference == pytest.approx(line.estimate - line.before)
    assert found.furthest == max(found.lines, key=lambda line: abs(line.difference)).descriptor


def test_the_panels_own_error_goes_out_of_the_difference() -> None:
    """It is the same in both batches: however wrong the panel is, the chance stays."""
    off = replace(stock(), panel_sd=dict.fromkeys(NOTES, 20.0))
    held, _ = as_before(off, TARGET, BEFORE)
    assert dict(held.panel_sd) == {"smoke": 2.0, "plum": 3.0, "flour": 1.5}


def test_what_is_said_is_of_the_spirit_and_of_nobodys_nose() -> None:
    held, aim = as_before(stock(), TARGET, BEFORE)
    tried = try_shares(held, LITRES, aim, LIMITS, MixingRule())
    said = batch_after(tried.mixture, BEFORE, TARGET, LIMITS, of_target=0.9).sentence
    assert said.startswith("3 casks, ")
    for words in (
        "(safe to number: ",
        "our panel, nosing at 20 % vol, the last batch (L24-1) and this one lie within 10 points",
        "furthest off is ",
        "own tolerances it is with a chance of 90 in 100",
    ):
        assert words in said
    for never in ("tell apart", "tell it", "guest", "nobody"):
        assert never not in said
    reckoned = replace(BEFORE, sample=None, notes=BEFORE.notes[:2])
    held, aim = as_before(stock(), TARGET, reckoned)
    tried = try_shares(held, LITRES, aim, LIMITS, MixingRule())
    said = batch_after(tried.mixture, reckoned, TARGET, LIMITS).sentence
    assert "Nobody nosed a blend of L24-1" in said
    assert "nothing is known of it there: flour" in said
    assert [signed(points) for points in (2.4, -0.04, 0.3)] == ["+2", "0", "+0.3"]


@pytest.mark.parametrize(
    ("so", "named"),
    [
        ({"only_proposed": True}, "the release L24-1 (only proposed) and this one lie"),
        ({"other_target": "Moss"}, "the batch L24-1 (made for the target Moss) and this one lie"),
        (
            {"only_proposed": True, "other_target": "Moss"},
            "the release L24-1 (made for the target Moss, only proposed) and this one lie",
        ),
    ],
)
def test_what_is_no_batch_of_the_target_is_not_called_its_last(
    so: dict[str, Any], named: str
) -> None:
    before = replace(BEFORE, **so)
    held, aim = as_before(stock(), TARGET, before)
    tried = try_shares(held, LITRES, aim, LIMITS, MixingRule())
    said = batch_after(tried.mixture, before, TARGET, LIMITS).sentence
    assert named in said
    assert "the last batch" not in said


def test_nothing_in_common_is_refused() -> None:
    other = BatchBefore("L1", "Moss", (NoteBefore("tar", 3.0, 1.0),))
    with pytest.raises(InputError, match="no notes in common"):
        as_before(stock(), TARGET, other)


def test_a_recipe_is_in_whole_percent_by_wood_and_make() -> None:
    parts = [("butt", "Reed", 61.2), ("barrel", "Reed", 20.0), ("barrel", None, 18.8)]
    shares = recipe_shares(parts, within=0.05)
    assert [(s.column, s.values[0], s.low, s.high) for s in shares] == [
        ("wood", "butt", 0.56, 0.67),
        ("wood", "barrel", 0.33, 0.44),
        ("make", "Reed", 0.76, 0.87),
    ]

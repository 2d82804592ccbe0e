"""Mixing learnt from bench blends: known exponents come back, few blends leave wide intervals."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.errors import FrameError, TooLittleError
from analysis.vatting import MixingRule, learn_mixing


def blends(
    exponent: float, gain: float, count: int, *, off: float = 1.0, seed: int = 3
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Blends of two unlike casks whose mixing is known, nosed with an error of *off* points."""
    rng = np.random.default_rng(seed)
    parts, nosed = [], []
    for number in range(count):
        share = rng.uniform(0.1, 0.9)
        shares, scores = [share, 1 - share], [rng.uniform(50, 85), rng.uniform(2, 12)]
        for part in range(2):
            row = (f"B{number}", "smoke", shares[part], scores[part], 0.5)
            parts.append(row)
        true = gain * (np.array(shares) @ np.power(scores, 1 / exponent)) ** exponent
        nosed.append((f"B{number}", "smoke", true + rng.normal(0, off), 1.0))
    return (
        pd.DataFrame(parts, columns=["blend", "descriptor", "share_lpa", "estimate", "sd"]),
        pd.DataFrame(nosed, columns=["blend", "descriptor", "estimate", "se"]),
    )


@pytest.mark.parametrize(("exponent", "gain"), [(0.5, 1.0), (1.0, 1.0), (0.6, 0.85)])
def test_a_known_exponent_comes_back(exponent: float, gain: float) -> None:
    note = learn_mixing(*blends(exponent, gain, 15)).notes[0]
    assert note.learnt
    assert note.exponent_low <= exponent <= note.exponent_high
    assert note.gain_low <= gain <= note.gain_high
    assert note.exponent_high / note.exponent_low < 1.6


def test_one_blend_learns_nothing_and_says_so() -> None:
    found = learn_mixing(*blends(0.5, 1.0, 1))
    assert not found.notes[0].learnt
    assert "too little yet" in found.notes[0].sentence


def test_more_error_is_found_as_more_error() -> None:
    quiet = learn_mixing(*blends(0.5, 1.0, 20, off=0.5))
    loud = learn_mixing(*blends(0.5, 1.0, 20, off=8.0))
    assert quiet.error_sd < 2.0 < 5.0 < loud.error_sd < 11.0
    assert loud.panel_sd == pytest.approx(np.sqrt(loud.error_sd**2 - 1.5**2))


def test_what_was_believed_before_holds_without_evidence() -> None:
    low = learn_mixing(*blends(0.5, 1.0, 1), MixingRule({"smoke": 0.5})).notes[0].exponent
    high = learn_mixing(*blends(0.5, 1.0, 1), MixingRule({"smoke": 1.5})).notes[0].exponent
    assert low < high


def test_refused_in_words() -> None:
    parts, nosed = blends(0.5, 1.0, 2)
    with pytest.raises(FrameError, match="add up to"):
        learn_mixing(parts.assign(share_lpa=0.3), nosed)
    with pytest.raises(FrameError, match="Missing columns: se"):
        learn_mixing(parts, nosed.drop(columns="se"))
    with pytest.raises(TooLittleError, match="mix one"):
        learn_mixing(parts, nosed.assign(blend="another"))


def test_what_blends_were_off_the_rule_before() -> None:
    """Half of 20 and half of 30 are 25 in proportion; nosed as 30 they were 5 above."""
    parts = pd.DataFrame(
        [
            {"blend": blend, "descriptor": "smoke", "share_lpa": 0.5, "estimate": at, "sd": 0.1}
            for blend in ("B1", "B2")
            for at in (20.0, 30.0)
        ]
    )
    nosed = pd.DataFrame(
        [{"blend": blend, "descriptor": "smoke", "estimate": 30.0, "se": 1.0} for blend in "12"]
    ).assign(blend=["B1", "B2"])
    (note,) = learn_mixing(parts, nosed).notes
    assert note.bias == pytest.approx(5.0, abs=0.01)
    assert "5.0 points above what was predicted" in note.sentence
    (low,) = learn_mixing(parts, nosed.assign(estimate=20.0)).notes
    assert low.bias == pytest.approx(-5.0, abs=0.01)
    assert "5.0 points below" in low.sentence
    for gain, predicted in ((1.2, 30.0), (1.6, 40.0), (5.0, 100.0)):
        found = learn_mixing(parts, nosed, MixingRule(gains={"smoke": gain}))
        assert found.blends["predicted"].tolist() == pytest.approx([predicted] * 2, abs=0.01)
        assert found.notes[0].bias == pytest.approx(30.0 - predicted, abs=0.01)

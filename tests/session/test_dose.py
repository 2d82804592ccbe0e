"""Ethanol, caps, minutes and cautions."""

from __future__ import annotations

import math

import pytest

from panel.session.dose import (
    CAUTIONS,
    DoseError,
    DoseLimits,
    Pour,
    ethanol_grams,
    session_dose,
)


def test_grams_of_a_glass() -> None:
    # Arithmetic with the density of ethanol (OIML R 22, 1975): 0.78924 g/mL.
    assert ethanol_grams(10, 20) == pytest.approx(1.578, abs=5e-4)
    # A UK unit is 10 mL, quoted as 8 g (NHS): 25 mL of 40 % is one.
    assert ethanol_grams(25, 40) == pytest.approx(7.8924)


def test_eight_glasses_swallowed() -> None:
    dose = session_dose([Pour(10, 20)] * 8)
    assert dose.swallowed_grams == pytest.approx(12.6, abs=0.03)
    assert dose.swallowed_grams / 8 == pytest.approx(1.58, abs=0.005)
    assert dose.spat_grams == pytest.approx(dose.swallowed_grams * 0.2)


def test_the_share_that_is_counted_if_spat_is_a_setting() -> None:
    dose = session_dose([Pour(10, 20)], DoseLimits(spat_share=1.0))
    assert dose.spat_grams == dose.swallowed_grams


@pytest.mark.parametrize(
    ("volume_ml", "abv"), [(-1, 20), (math.nan, 20), (10, -1), (10, 101), (math.inf, 20)]
)
def test_impossible_glasses_are_refused(volume_ml: float, abv: float) -> None:
    with pytest.raises(DoseError, match="check the figure"):
        ethanol_grams(volume_ml, abv)


def test_cautions_say_the_usual() -> None:
    text = " ".join(CAUTIONS).lower()
    for word in ("drive", "spit", "water", "without a reason", "fire", "local codes", "licensed"):
        assert word in text

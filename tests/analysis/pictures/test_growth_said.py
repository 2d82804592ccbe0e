"""What stands under a curve of age: on which casks it rests, and at which ages they were nosed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.age_words import age_figure
from analysis.ageing import Curve, Point
from analysis.ageing.result import Mark, Reading
from analysis.influences import Rests
from analysis.pictures.growth import how_it_grows
from analysis.pictures.svg import to_svg

POINTS = tuple(Point(age, 20.0, 15.0, 25.0, 15.0, 25.0, Mark.NOSED) for age in (9.98, 17.1))
STYLE = Curve(
    descriptor="smoke",
    make="Reed",
    wood="barrel",
    fill_number=1,
    cask=None,
    filling=None,
    n_casks=7,
    n_draws=9,
    n_again=2,
    evidence=Rests.BOTH,
    points=POINTS,
    ages_known=(0.0, 20.6),
)
READINGS = tuple(Reading(f"D{age}", age, 20.0, 15.0, 25.0) for age in (9.98, 14.0))
CASK = replace(STYLE, cask="C1", filling="C1/1", n_casks=1, readings=READINGS)


def said(curve: Curve) -> str:
    plane = how_it_grows(curve)
    assert plane is not None
    return plane.says


def test_the_ages_of_the_wood_are_not_those_of_the_cask() -> None:
    words = said(CASK)
    assert "Of barrel something can be said from 0.0 to 20.6 years" in words
    assert "The curve rests on all casks nosed; C1 itself was nosed at 9.9 and 14.0 years." in words
    assert "never nosed" in said(replace(CASK, readings=()))
    assert said(STYLE).endswith("of this style: 7, nosed at more than one age: 2.")


def test_the_line_of_ages_has_one_decimal_everywhere() -> None:
    plane = how_it_grows(CASK)
    assert plane is not None
    drawn = to_svg(plane)
    assert all(f">{age}<" in drawn for age in ("9.9", "13.5"))
    assert ">17.1 years<" in drawn


@pytest.mark.parametrize(
    ("years", "figure"),
    [(9.98, "9.9"), (10.0, "10.0"), (0.3, "0.3"), (3652 / 365.25, "10.0"), (3650 / 365.25, "9.9")],
)
def test_no_age_is_called_more_than_it_is(years: float, figure: str) -> None:
    assert age_figure(years) == figure

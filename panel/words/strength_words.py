"""Trade arithmetic in words: the same sentences from the command and from the desk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.volume_words import volume_words, weight_words

if TYPE_CHECKING:
    from analysis.strength import Evaporation, Reduction, Vatting, Weighing
    from panel.questions.strength import YearsLeft

CAUTION = (
    "Spirit above about 20 % vol gives off vapour that can catch fire: small volumes, air, no "
    "flame. Figures for duty are your excise authority's to accept."
)


def reduced_words(litres: float, from_abv: float, to_abv: float, found: Reduction) -> str:
    """Return the water that brings spirit down, and what they come to together."""
    return (
        f"{volume_words(litres)} at {in_digits(from_abv, 'g')} % vol: add "
        f"{volume_words(found.water_litres)} of "
        f"water ({weight_words(found.water_kg)}) to reach {in_digits(to_abv, 'g')} % vol.\n"
        f"Together {volume_words(found.final_litres)}; mixing shrinks it by "
        f"{volume_words(found.contraction_litres)}. Pure alcohol {volume_words(found.lpa)}. All "
        "at 20 °C."
    )


def married_words(found: Vatting) -> str:
    """Return what parts come to."""
    return (
        f"{volume_words(found.bulk_litres)} at {in_digits(found.abv_percent, '.2f')} % vol, "
        f"{volume_words(found.lpa)} of pure alcohol.\nThe parts add up to "
        f"{volume_words(found.sum_of_parts_litres)}; mixing shrinks them by "
        f"{volume_words(found.contraction_litres)}. All at 20 °C."
    )


def at_20_words(litres: float, celsius: float, found: float) -> str:
    """Return a gauged volume at 20 °C."""
    return (
        f"{in_digits(litres, 'g')} L at {in_digits(celsius, 'g')} °C are "
        f"{volume_words(found)} at 20 °C."
    )


def weighed_words(kg: float, abv: float, found: Weighing) -> str:
    """Return what a weight comes to."""
    return (
        f"{in_digits(kg, 'g')} kg in air at {in_digits(abv, 'g')} % vol are "
        f"{volume_words(found.litres)} at 20 °C, "
        f"{volume_words(found.lpa)} of pure alcohol."
    )


def read_words(reading: float | None, density: float | None, celsius: float, found: float) -> str:
    """Return the true strength of what was read."""
    shown = (
        (f"{in_digits(reading, 'g')} % vol")
        if density is None
        else f"{in_digits(density, 'g')} kg/m3"
    )
    return (
        f"{shown} read at {in_digits(celsius, 'g')} °C is {in_digits(found, '.2f')} % vol at 20 °C."
    )


def lost_words(found: Evaporation) -> str:
    """Return what a cask lost a year."""
    return (
        f"Pure alcohol: {in_digits(found.lpa_percent_a_year_compound, '.2f')} % a year compound, "
        f"{in_digits(found.lpa_percent_a_year_simple, '.2f')} simple; "
        f"{in_digits(found.remaining_percent_of_lpa, '.1f')} % is "
        f"left.\nVolume: {in_digits(found.bulk_percent_a_year_compound, '.2f')} % a year compound, "
        f"{in_digits(found.bulk_percent_a_year_simple, '.2f')} simple."
    )


def ullage_words(size_l: float, found: float) -> str:
    """Return how much of a cask is empty."""
    return (
        f"{volume_words(found)} of {in_digits(size_l, 'g')} L are empty "
        f"({100 * found / size_l:.0f} %)."
    )


def until_words(floor: float, found: YearsLeft) -> str:
    """Return when a strength is reached, or why never."""
    told = (
        found.reason
        or f"about {in_digits(found.years, '.1f')} years after the second gauge, on a straight line"
    )
    return f"{in_digits(floor, 'g')} % vol: {told}."

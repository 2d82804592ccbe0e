"""What is odd about a filling by its records, though it may be so: asked about, not refused."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from panel.figures import in_digits
from panel.store.ages import calendar_years
from panel.store.casks import Filling

DISTILLED_BELOW = 94.8
"""Scotch Whisky Regulations 2009, regulation 3: whisky is distilled to less than this, % vol."""
HARDLY_SPIRIT = 20.0
"""Below this, % vol, no spirit lies in a cask (common practice, no source)."""
MOST_RISE = 15.0
"""Points of % vol that strength rises at most, in the driest store (common practice, no source)."""
FREE_STEP, STEP_A_YEAR = 10.0, 2.0
"""Points of % vol by which two measures of one filling differ at most: at once, and a year.

Wood, air and an error of the gauge come to less (common practice, no source).
"""
MOST_GAIN = 1.2
"""No untouched cask holds so many times its litres later (common practice, no source)."""
LEAST_KEPT, KEPT_A_YEAR = 0.5, 0.85
"""Less than half is hardly left, after what a year in a dry store takes (common practice)."""
_YEARS = re.compile(r"(?<!\d)(\d{4})(?:\s*[-–/]\s*(\d{4}))?(?!\d)")


def strength_doubt(fill_abv: float) -> str | None:
    """Return what is odd about a strength at filling; None where nothing is."""
    if fill_abv < DISTILLED_BELOW:
        return None
    return (
        f"{in_digits(fill_abv, 'g')} % vol: whisky is distilled to less than "
        f"{in_digits(DISTILLED_BELOW, 'g')} % vol, and "
        "mostly filled near 63; is this the strength?"
    )


def weak_doubt(abv: float, where: str = "a cask") -> str | None:
    """Return what is hardly so of a strength in a cask or bottle; None where it may well be."""
    if abv >= HARDLY_SPIRIT:
        return None
    meant = (
        (f"; is {in_digits(abv * 10, 'g')} meant")
        if 2 * HARDLY_SPIRIT <= abv * 10 < DISTILLED_BELOW
        else ""
    )
    return f"{in_digits(abv, 'g')} % vol is hardly a strength in {where}{meant}?"


def rise_doubt(fill_abv: float, abv: float, topped: bool = False) -> str | None:
    """Return what is hardly so of a strength after that at filling; None where it may be.

    Strength rises where more water than alcohol goes through the wood, but by no more than
    `MOST_RISE`. What was topped since can be stronger.
    """
    rise = abv - fill_abv
    if topped or rise <= MOST_RISE:
        return None
    return (
        f"{in_digits(abv, 'g')} % vol, {in_digits(rise, '.3g')} points above the "
        f"{in_digits(fill_abv, 'g')} % vol at filling: strength "
        "hardly rises so far; is one of the two wrong?"
    )


@dataclass(frozen=True)
class Held:
    """What was measured of a filling on a day; `litres` are None where only strength was."""

    on: date
    abv: float
    litres: float | None = None


def step_doubt(abv: float, on: date, other: Held) -> str | None:
    """Return what is hardly so of a strength beside another of the same filling, untouched between.

    None where it may be.
    """
    years = abs(calendar_years(other.on, on))
    step = abs(abv - other.abv)
    if step <= FREE_STEP + STEP_A_YEAR * years:
        return None
    return (
        f"{in_digits(abv, 'g')} % vol, but {in_digits(other.abv, 'g')} % vol was measured on "
        f"{other.on}: strength hardly moves so far; is one of the two wrong?"
    )


def litres_doubt(litres: float, on: date, other: Held, taken: float) -> str | None:
    """Return what is hardly so of litres beside others of the same filling; None where they may be.

    *taken* are the litres that the records say left it between the two days; nothing was added.
    """
    if other.litres is None:
        return None
    early, late = (other.litres, litres) if other.on <= on else (litres, other.litres)
    left = max(early - taken, 0.0)
    years = abs(calendar_years(other.on, on))
    if left * LEAST_KEPT * KEPT_A_YEAR**years <= late <= early * MOST_GAIN:
        return None
    return (
        f"{in_digits(litres, 'g')} L, but {in_digits(other.litres, 'g')} L on {other.on}, and "
        "nothing on record explains it; is one of the two wrong?"
    )


def drawn_doubt(litres: float, held: Held) -> str | None:
    """Return what is hardly so of litres drawn from what a cask held; None where they may be."""
    if held.litres is None or litres <= held.litres:
        return None
    return (
        f"{in_digits(litres, 'g')} L drawn, but it held {in_digits(held.litres, 'g')} L on "
        f"{held.on}; is the volume in millilitres?"
    )


def campaign_doubt(make: str, campaign: str | None, filled_on: date) -> str | None:
    """Return what is odd about the year of a filling; None where the campaign names no years."""
    years = campaign_years(campaign)
    if years is None or years[0] <= filled_on.year <= years[1]:
        return None
    return f"{make} was made in {campaign}, but filled in {filled_on.year}: is this the make?"


def campaign_years(campaign: str | None) -> tuple[int, int] | None:
    """Return the first and last year of a campaign such as `2008-2012`; None where it has none."""
    found = _YEARS.findall(campaign or "")
    years = [int(year) for pair in found for year in pair if year]
    return (min(years), max(years)) if years else None


def filling_doubts(filling: Filling) -> Iterator[tuple[str, str]]:
    """Give the column that each doubt is about, and the doubt."""
    strength = strength_doubt(filling.fill_abv)
    if strength is not None:
        yield "fill_abv", strength
    make = filling.make
    year = campaign_doubt(make.name, make.campaign, filling.filled_on) if make else None
    if year is not None:
        yield "make", year

"""What a cask loses between two regauges, what space that leaves, and until when."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from ..as_json import AsJson
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable
from .convert import require_abv
from .density import require_not_negative, require_positive


@dataclass(frozen=True)
class Withdrawal:
    """What was taken out on purpose between two regauges (samples, part-drawing)."""

    litres: float
    abv_percent: float
    years_after_start: float


@dataclass(frozen=True, repr=False)
class Evaporation(AsJson, Readable):
    """Loss between two regauges, withdrawals taken off first; percents are 0 to 100."""

    years: float
    start_lpa: float
    withdrawn_lpa: float
    end_lpa: float
    remaining_percent_of_lpa: float
    lpa_percent_a_year_compound: float
    lpa_percent_a_year_simple: float
    bulk_percent_a_year_compound: float
    bulk_percent_a_year_simple: float


def litres_of_pure_alcohol(litres: float, abv_percent: float) -> float:
    """Litres of pure alcohol in a volume.

    Parameters
    ----------
    litres : float
        Bulk volume at 20 °C.
    abv_percent : float
        Strength, % vol at 20 °C.

    Returns
    -------
    float
        LPA = litres x abv / 100.

    Raises
    ------
    InputError
        If the volume is negative or the strength out of range.

    Notes
    -----
    Source: definition; HMRC internal manual HMEXSH5030 works it out for 12 x 0.70 L.

    Examples
    --------
    >>> round(litres_of_pure_alcohol(8.4, 40), 2)
    3.36
    """
    return require_not_negative("Volume", litres, "L") * require_abv(abv_percent) / 100.0


def _yearly_factor(
    start: float, end: float, years: float, taken: Sequence[tuple[float, float]]
) -> float:
    """Factor u a year with start u^y - sum w u^(y-s) = end, by bisection.

    Divided by u^y the left side only rises with u, so there is one root; each withdrawal
    is taken off at its own date, because what it would have lost had it stayed is no leak.
    """

    def left_over(u: float) -> float:
        return start - sum(w * math.pow(u, -s) for w, s in taken) - end * math.pow(u, -years)

    low, high = 1e-6, 1.0
    while left_over(high) < 0.0 and high < 1e6:  # a gain
        low, high = high, high * 2.0
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        low, high = (low, middle) if left_over(middle) > 0.0 else (middle, high)
    return 0.5 * (low + high)


def _compound_percent(
    start: float, end: float, years: float, taken: Sequence[tuple[float, float]]
) -> float:
    if not taken:  # the closed form: exact, and right at end = 0
        return 100.0 * (1.0 - math.pow(end / start, 1.0 / years))
    return 100.0 * (1.0 - _yearly_factor(start, end, years, taken))


def _require_withdrawals(
    withdrawals: Sequence[Withdrawal], years: float, start_litres: float, start_lpa: float
) -> None:
    for w in withdrawals:
        require_not_negative("Withdrawal", w.litres, "L")
        require_abv(w.abv_percent, "Strength of a withdrawal")
        if not 0.0 <= w.years_after_start <= years:
            raise InputError(
                f"A withdrawal lies {in_digits(w.years_after_start, 'g')} years after the "
                "first regauge, but "
                f"the second came after {in_digits(years, 'g')}: check its date."
            )
    litres = sum(w.litres for w in withdrawals)
    lpa = sum(w.litres * w.abv_percent for w in withdrawals) / 100.0
    if litres >= start_litres or lpa >= start_lpa:
        raise InputError(
            f"Withdrawals come to {in_digits(litres, 'g')} L, {in_digits(lpa, '.2f')} LPA, "
            "but the cask held "
            f"{in_digits(start_litres, 'g')} L, {in_digits(start_lpa, '.2f')} LPA: check "
            "their litres and strengths."
        )


def evaporation(
    start_litres: float,
    start_abv_percent: float,
    end_litres: float,
    end_abv_percent: float,
    years: float,
    withdrawals: Sequence[Withdrawal] = (),
) -> Evaporation:
    """Yearly loss between two regauges, compound and simple, of alcohol and of volume.

    Read the compound rate when you project forward, the simple one when you compare with
    trade figures; alcohol and volume go at different rates.

    Parameters
    ----------
    start_litres, end_litres : float
        Bulk at 20 °C at the two regauges.
    start_abv_percent, end_abv_percent : float
        Their strengths, % vol at 20 °C.
    years : float
        Time between them.
    withdrawals : sequence of Withdrawal
        Taken out in between; taken off before any rate is worked out.

    Returns
    -------
    Evaporation
        Without withdrawals: compound = 1 - (LPA_t / LPA_0)^(1/y), simple =
        (1 - LPA_t / LPA_0) / y. With them: compound solves start u^y - sum w u^(y-s) = end
        for u = 1 - rate, s the years to each; simple and remaining use start - sum w.
        A gain is a negative loss.

    Raises
    ------
    InputError
        If a figure is out of range, the cask was empty at the start, or the withdrawals
        exceed what it held.

    Notes
    -----
    Common practice; the arithmetic is definition.

    Examples
    --------
    >>> loss = evaporation(200, 63.5, 168, 58.2, 10)
    >>> round(loss.lpa_percent_a_year_compound, 2), round(loss.lpa_percent_a_year_simple, 2)
    (2.58, 2.3)
    """
    require_positive("Time between the regauges", years, "years")
    require_positive("Volume at the first regauge", start_litres, "L")
    start_lpa = require_positive(
        "Alcohol at the first regauge",
        litres_of_pure_alcohol(start_litres, start_abv_percent),
        "LPA",
    )
    end_lpa = litres_of_pure_alcohol(end_litres, end_abv_percent)
    _require_withdrawals(withdrawals, years, start_litres, start_lpa)
    taken_lpa = [(w.litres * w.abv_percent / 100.0, w.years_after_start) for w in withdrawals]
    taken_litres = [(w.litres, w.years_after_start) for w in withdrawals]
    withdrawn_lpa = sum(lpa for lpa, _ in taken_lpa)
    lpa_left = end_lpa / (start_lpa - withdrawn_lpa)
    bulk_left = end_litres / (start_litres - sum(litres for litres, _ in taken_litres))
    return Evaporation(
        years=years,
        start_lpa=start_lpa,
        withdrawn_lpa=withdrawn_lpa,
        end_lpa=end_lpa,
        remaining_percent_of_lpa=100.0 * lpa_left,
        lpa_percent_a_year_compound=_compound_percent(start_lpa, end_lpa, years, taken_lpa),
        lpa_percent_a_year_simple=100.0 * (1.0 - lpa_left) / years,
        bulk_percent_a_year_compound=_compound_percent(
            start_litres, end_litres, years, taken_litres
        ),
        bulk_percent_a_year_simple=100.0 * (1.0 - bulk_left) / years,
    )


def ullage_litres(capacity_litres: float, bulk_litres: float) -> float:
    """Empty space in a cask.

    Parameters
    ----------
    capacity_litres, bulk_litres : float
        What the cask holds full, and what is in it.

    Returns
    -------
    float
        capacity - bulk; negative when the gauge says more than the cask can hold, which
        is an answer (the capacity or the gauge is wrong).

    Raises
    ------
    InputError
        If the capacity is not above zero or the bulk is negative.

    Notes
    -----
    Definition.

    Examples
    --------
    >>> ullage_litres(250, 212.5)
    37.5
    """
    require_positive("Capacity", capacity_litres, "L")
    return capacity_litres - require_not_negative("Volume", bulk_litres, "L")


def years_until_abv(
    start_abv_percent: float, end_abv_percent: float, years: float, floor_abv_percent: float = 40.0
) -> float | None:
    """Years after the second regauge until strength reaches a floor, on a straight line.

    Parameters
    ----------
    start_abv_percent, end_abv_percent : float
        Strength at the two regauges, % vol.
    years : float
        Time between them.
    floor_abv_percent : float
        40 % vol, the usual legal minimum, unless said otherwise.

    Returns
    -------
    float or None
        (q_t - floor) y / (q_0 - q_t); 0 when it is there already; None when strength does
        not fall, so that there is no such date.

    Raises
    ------
    InputError
        If a figure is out of range.

    Notes
    -----
    A straight line through two gauges: an order of magnitude, not a promise.

    Examples
    --------
    >>> years_until_abv(50, 45, 10)
    10.0
    """
    require_positive("Time between the regauges", years, "years")
    fall = require_abv(start_abv_percent) - require_abv(end_abv_percent)
    if end_abv_percent <= require_abv(floor_abv_percent, "Floor"):
        return 0.0
    years_left = (end_abv_percent - floor_abv_percent) * years / fall if fall > 0.0 else math.inf
    return years_left if math.isfinite(years_left) else None

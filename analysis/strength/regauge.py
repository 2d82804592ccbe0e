"""What looks wrong about a pair of regauges: a gain, a leak, a strength that rises."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable
from .density import require_positive
from .losses import Evaporation, Withdrawal, evaporation

USUAL_SIZE_LITRES: Final = 250.0
MOST_PERCENT: Final = 50.0
SURELY_APART: Final = 3.5
"""So many standard deviations off is no error of two gauges."""


class RegaugeFlag(StrEnum):
    """What a pair of regauges may show.

    It gains pure alcohol; loses more than evaporation explains; its strength rises; its strength
    is below the minimum for whisky.
    """

    GAIN = "gain"
    LEAK = "leak"
    STRENGTH_RISES = "strength_rises"
    BELOW_MINIMUM = "below_minimum"


@dataclass(frozen=True)
class RegaugeLimits:
    """When a pair of regauges is flagged.

    House defaults, for a cask of 250 L: a gain above 0.5 % is more than gauging error; trade
    figures for evaporation in Scotland are 1.5 to 2.5 % a year, so 5 % points to a leak; a
    hot, dry warehouse wants a higher leak limit and no flag for rising strength; new wood
    drinks 2 to 3 % of the filling at once, which is no leak; 40 % vol is the usual legal
    minimum. `for_cask` brings them to another size.

    `more_percent_a_year` counts only where it is known what the cask should have lost: beyond that
    so much more a year is worth somebody's way to it.
    """

    gain_percent: float = 0.5
    leak_percent_a_year: float = 5.0
    more_percent_a_year: float = 1.0
    in_drink_percent: float = 3.0
    strength_rise_percent_vol: float = 0.3
    cool_climate: bool = True
    minimum_abv_percent: float = 40.0

    def for_cask(self, size_litres: float) -> RegaugeLimits:
        """The same limits for a cask of another size.

        A cask loses through its staves and holds by its volume: of casks of one shape the share
        that goes a year, and that the wood drinks, rises as 1 / size^(1/3).

        Examples
        --------
        >>> round(RegaugeLimits().for_cask(50).leak_percent_a_year, 2)
        8.55
        """
        require_positive("Size", size_litres, "L")
        wider = (USUAL_SIZE_LITRES / size_litres) ** (1.0 / 3.0)
        return replace(
            self,
            leak_percent_a_year=min(self.leak_percent_a_year * wider, MOST_PERCENT),
            more_percent_a_year=min(self.more_percent_a_year * wider, MOST_PERCENT),
            in_drink_percent=min(self.in_drink_percent * wider, MOST_PERCENT),
        )


@dataclass(frozen=True)
class Excess:
    """How much more than its own a cask has lost since a gauge (`unexplained.excess_loss`).

    Attributes
    ----------
    apart, needed
        How far off it is, in standard deviations, and from which on that is no chance.
    out_of_like
        Whether what went since that gauge is also more than casks of its store differ by.
    more_percent_a_year, own_percent_a_year
        Of the alcohol: beyond the cask's own loss, and that.
    gauges_sd
        Relative standard deviation of what the two gauges alone say of the share that is left.
    """

    apart: float
    needed: float
    out_of_like: bool
    more_percent_a_year: float
    own_percent_a_year: float
    gauges_sd: float


@dataclass(frozen=True, repr=False)
class RegaugeCheck(AsJson, Readable):
    """The loss between two regauges with its flags and a sentence for each."""

    evaporation: Evaporation
    flags: tuple[RegaugeFlag, ...]
    sentences: tuple[str, ...]


def _kept(loss: Evaporation) -> float:
    """Share of the alcohol that is left, what was taken out apart."""
    return math.pow(1.0 - loss.lpa_percent_a_year_compound / 100.0, loss.years)


def _allowed(limits: RegaugeLimits, years: float, after_filling: bool) -> float:
    """Share of the alcohol that is left at the yearly limit, the in-drink of a filling apart."""
    allowed = math.pow(1.0 - limits.leak_percent_a_year / 100.0, years)
    return allowed * (1.0 - limits.in_drink_percent / 100.0) if after_filling else allowed


def _looks_like_leak(
    loss: Evaporation, limits: RegaugeLimits, after_filling: bool, excess: Excess | None
) -> bool:
    """Whether more is gone than can be explained.

    With what is known of the cask's own loss: surely more than that, or than the yearly limit by
    more than the gauges may err, where casks of its store do not lose as much. Without, the kept
    share is compared with the limit at the same span, so that a short span with an ordinary gauging
    error (the gain limit, on either side) is no leak.
    """
    kept, allowed = _kept(loss), _allowed(limits, loss.years, after_filling)
    if excess is None:
        return kept < allowed * (1.0 - limits.gain_percent / 100.0 if loss.years < 1.0 else 1.0)
    over_limit = kept < allowed * math.exp(-SURELY_APART * excess.gauges_sd)
    over_limit = over_limit and excess.out_of_like
    surely = excess.apart > excess.needed
    return over_limit or (surely and excess.more_percent_a_year > limits.more_percent_a_year)


def check_regauge(
    start_litres: float,
    start_abv_percent: float,
    end_litres: float,
    end_abv_percent: float,
    years: float,
    withdrawals: Sequence[Withdrawal] = (),
    *,
    after_filling: bool = False,
    repaired: bool = False,
    limits: RegaugeLimits | None = None,
    excess: Excess | None = None,
) -> RegaugeCheck:
    """Say what looks wrong about a pair of regauges.

    Parameters
    ----------
    start_litres, start_abv_percent, end_litres, end_abv_percent, years, withdrawals
        As `evaporation`.
    after_filling : bool
        The first regauge is the filling itself: wood drinks some of it at once.
    repaired : bool
        The cask was repaired after the first regauge: nobody has to look for its leak.
    limits : RegaugeLimits, optional
        House limits, each with its reason.
    excess : Excess, optional
        How much more went than the cask loses by itself, and how far off gauges may be
        (`excess_loss`). Without it the limits alone are compared, as if gauges did not err.

    Returns
    -------
    RegaugeCheck
        The loss, its flags (none is the usual case) and one sentence a flag.

    Raises
    ------
    InputError
        As `evaporation`.

    Notes
    -----
    Limits are house defaults after trade figures; common practice, no source.

    Examples
    --------
    >>> check_regauge(200, 63.5, 150, 60, 1).flags
    (<RegaugeFlag.LEAK: 'leak'>,)
    """
    limits = limits or RegaugeLimits()
    loss = evaporation(
        start_litres, start_abv_percent, end_litres, end_abv_percent, years, withdrawals
    )
    found = _alcohol_flags(loss, limits, after_filling, repaired, excess)
    found |= _strength_flags(start_abv_percent, end_abv_percent, limits)
    return RegaugeCheck(loss, tuple(found), tuple(found.values()))


def _alcohol_flags(
    loss: Evaporation,
    limits: RegaugeLimits,
    after_filling: bool,
    repaired: bool,
    excess: Excess | None,
) -> dict[RegaugeFlag, str]:
    found: dict[RegaugeFlag, str] = {}
    most = 1.0 + limits.gain_percent / 100.0
    if excess is not None:
        most *= math.exp(SURELY_APART * excess.gauges_sd)
    if loss.remaining_percent_of_lpa > 100.0 * most:
        found[RegaugeFlag.GAIN] = (
            "Pure alcohol rose by "
            f"{in_digits(loss.remaining_percent_of_lpa - 100.0, '.1f')} %: one of the two "
            "gauges is wrong, or something was added without a record. Gauge again."
        )
    if _looks_like_leak(loss, limits, after_filling, excess):
        why = (
            "the cask was repaired since."
            if repaired
            else "look for a leak, or for a draw that was not recorded."
        )
        found[RegaugeFlag.LEAK] = (
            f"{in_digits(loss.lpa_percent_a_year_compound, '.1f')} % of the alcohol went "
            "each year, "
            f"{_beyond(loss, limits, after_filling, excess)}: {why}"
        )
    return found


def _beyond(
    loss: Evaporation, limits: RegaugeLimits, after_filling: bool, excess: Excess | None
) -> str:
    """What the loss is more than: the limit, or what such a cask loses."""
    limit = f"above the limit of {in_digits(limits.leak_percent_a_year, '.3g')} %"
    if excess is None:
        return limit
    more = f"and its own would be {in_digits(max(excess.own_percent_a_year, 0.0), '.1f')} %"
    return f"{limit}, {more}" if _kept(loss) < _allowed(limits, loss.years, after_filling) else more


def _strength_flags(
    start_abv_percent: float, end_abv_percent: float, limits: RegaugeLimits
) -> dict[RegaugeFlag, str]:
    rise = end_abv_percent - start_abv_percent
    found: dict[RegaugeFlag, str] = {}
    if limits.cool_climate and rise > limits.strength_rise_percent_vol:
        found[RegaugeFlag.STRENGTH_RISES] = (
            f"Strength rose by {in_digits(rise, '.1f')} % vol, which a cool warehouse does "
            "not do: check the "
            "temperature that was noted, and gauge again."
        )
    if end_abv_percent < limits.minimum_abv_percent:
        found[RegaugeFlag.BELOW_MINIMUM] = (
            f"Strength is {in_digits(end_abv_percent, '.1f')} % vol, below "
            f"{in_digits(limits.minimum_abv_percent, 'g')}: on "
            "its own it may no longer be sold as whisky; local law decides."
        )
    return found

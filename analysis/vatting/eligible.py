"""Which casks may go in at all, and why the others may not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from ..array_types import Flags, Floats, Ints, Names
from ..bars import Bar, Bars, Purpose, forbidding, gauge_is_old
from ..days import DAYS_A_YEAR
from .limits import (
    NOTHING_LIFTED,
    GaugeRule,
    Lifted,
    LimitKey,
    LimitKind,
    Limits,
)
from .stock import Stock

_DOUBT_DAYS = 2.0


class Unfit(StrEnum):
    """Why a cask that its records do not bar may not go in: what the question asks."""

    APART = "nosed where no glass is shared with the casks compared"
    UNKNOWN = "without estimates on every line of the target"
    NO_AGE = "without a recorded age"
    LEGAL_AGE = "below the legal age"
    UNDER_AGE = "too young for the age statement"
    TOO_LITTLE = "with too little pure alcohol in it"
    EXCLUDED = "left out by name"


Reason = Bar | Unfit


@dataclass(frozen=True, eq=False)
class Eligible:
    """The casks that may go in.

    Attributes
    ----------
    rows
        Their rows in the stock.
    reasons
        For every row of the stock why it is barred, a :class:`Bar` or :class:`Unfit`; empty
        where it is not.
    """

    rows: Ints
    reasons: Names

    @property
    def counts(self) -> Mapping[str, int]:
        """How many casks each reason bars."""
        found, counts = np.unique(self.reasons.astype(str), return_counts=True)
        return {
            str(reason): int(count)
            for reason, count in zip(found, counts, strict=True)
            if str(reason)
        }


def ages_at_bottling(stock: Stock, limits: Limits) -> Floats:
    """Age of every cask on the day of bottling, in years.

    Moved on from the stock's date, a cask within two days of its birthday counts as younger:
    a label may not rest on the rounding of a leap year.
    """
    if limits.bottling_on is None or stock.as_of is None:
        return stock.age_years
    days = (limits.bottling_on - stock.as_of).days
    doubt = _DOUBT_DAYS if days else 0.0
    return stock.age_years + (days - doubt) / DAYS_A_YEAR


def whole_years(age_years: Floats) -> Floats:
    """Whole years, rounded down; a hair below a whole number counts as that number."""
    years: Floats = np.floor(age_years + 1e-9)
    return years


def eligible_casks(
    stock: Stock,
    descriptors: tuple[str, ...],
    limits: Limits,
    lifted: Lifted = NOTHING_LIFTED,
) -> Eligible:
    """Sort out the casks that may not go in.

    A cask has one reason, the first that applies: what the records say of it comes before what
    is wished for.
    """
    reasons = _by_records(stock, limits, lifted).copy()
    for reason, applies in _unfit(stock, descriptors, limits, lifted):
        reasons[applies & (reasons == "")] = reason
    return Eligible(rows=np.flatnonzero(reasons == "").astype(np.intp), reasons=reasons)


def barred_by(stock: Stock, limits: Limits, row: int, lifted: Lifted = NOTHING_LIFTED) -> Bars:
    """Every bar of one cask that forbids a vat and was not agreed to."""
    agreed = limits.allowed(str(stock.names[row]), whole=is_whole(limits, lifted))
    return forbidding(stock.bars[row], Purpose.VAT, agreed)


def _by_records(stock: Stock, limits: Limits, lifted: Lifted) -> Names:
    """The first bar of every cask, as :mod:`analysis.bars` has it; kept, as searches ask often."""
    whole = is_whole(limits, lifted)
    key = ("bars", limits.asked, limits.owners, whole)
    found: Names | None = stock.found.get(key)
    if found is None:
        found = np.full(len(stock), "", dtype=object)
        for row, bars in enumerate(stock.bars):
            agreed = limits.allowed(str(stock.names[row]), whole=whole) if bars else None
            if agreed and (against := forbidding(bars, Purpose.VAT, agreed)):
                found[row] = against[0].bar
        stock.found[key] = found
    return found


def every_reason(
    stock: Stock, descriptors: tuple[str, ...], limits: Limits, row: int
) -> tuple[Reason, ...]:
    """Every reason against one cask: all that its records say, then all that is wished for."""
    by_records = [each.bar for each in barred_by(stock, limits, row)]
    unfit = _unfit(stock, descriptors, limits, NOTHING_LIFTED)
    wished = [reason for reason, applies in unfit if applies[row]]
    return tuple(dict.fromkeys([*by_records, *wished]))


def _unfit(
    stock: Stock, descriptors: tuple[str, ...], limits: Limits, lifted: Lifted
) -> list[tuple[Reason, Flags]]:
    return [
        (Unfit.APART, stock.is_apart),
        (Unfit.UNKNOWN, _unestimated(stock, descriptors)),
        *_by_age(stock, limits, lifted),
        *_by_wish(stock, limits, lifted),
    ]


def _unestimated(stock: Stock, descriptors: tuple[str, ...]) -> Flags:
    columns = stock.columns_of(descriptors)
    known = ~(np.isnan(stock.estimate[:, columns]) | np.isnan(stock.sd[:, columns]))
    return np.asarray(~known.all(axis=1))


def _by_age(stock: Stock, limits: Limits, lifted: Lifted) -> list[tuple[Reason, Flags]]:
    ages = ages_at_bottling(stock, limits)
    found: list[tuple[Reason, Flags]] = []
    if limits.minimum_age_years is not None:
        found.append((Unfit.NO_AGE, np.isnan(ages)))
        found.append((Unfit.LEGAL_AGE, ages + 1e-9 < limits.minimum_age_years))
    if limits.age_statement_years is not None and not is_lifted(lifted, LimitKind.AGE):
        found.append((Unfit.NO_AGE, np.isnan(ages)))
        found.append((Unfit.UNDER_AGE, whole_years(ages) < limits.age_statement_years))
    return found


def _by_wish(stock: Stock, limits: Limits, lifted: Lifted) -> list[tuple[Reason, Flags]]:
    found: list[tuple[Reason, Flags]] = []
    if limits.gauge_rule is GaugeRule.REFUSE and not is_lifted(lifted, LimitKind.GAUGE):
        found.append((Bar.GAUGE, old_gauges(stock, limits)))
    if limits.minimum_cask_lpa > 0 and not is_lifted(lifted, LimitKind.CASK_LPA):
        lpa = stock.available_litres * stock.abv_percent / 100.0
        found.append((Unfit.TOO_LITTLE, lpa < limits.minimum_cask_lpa))
    if limits.must_exclude and not is_lifted(lifted, LimitKind.MUST_EXCLUDE):
        named = np.array(limits.must_exclude, dtype=str)
        found.append((Unfit.EXCLUDED, np.isin(stock.names.astype(str), named)))
    return found


def old_gauges(stock: Stock, limits: Limits) -> Flags:
    """Casks whose regauge is older than the limits allow; kept, as searches ask often."""
    most = limits.gauge_max_age_years
    key = ("old gauges", most)
    if key not in stock.found:
        ages = stock.number("gauge_age_years").tolist()
        stock.found[key] = np.array([gauge_is_old(age, most) for age in ages], dtype=np.bool_)
    found: Flags = stock.found[key]
    return found


def is_lifted(lifted: Lifted, kind: LimitKind, which: int = 0) -> bool:
    """Whether a limit was lifted."""
    return LimitKey(kind, which) in lifted


def is_whole(limits: Limits, lifted: Lifted) -> bool:
    """Whether casks must go in whole."""
    return limits.whole and not is_lifted(lifted, LimitKind.WHOLE)


def share_members(stock: Stock, column: str, values: tuple[str | float, ...]) -> Flags:
    """Casks whose record is one of the values; numbers compare as numbers."""
    if column not in stock.casks.columns:
        return np.zeros(len(stock), dtype=np.bool_)
    member = np.isin(stock.text(column).astype(str), np.array([str(v) for v in values]))
    numbers = [_number(value) for value in values]
    wanted = np.array([number for number in numbers if number is not None])
    if len(wanted):
        member |= np.isin(stock.number(column), wanted)
    return np.asarray(member)


def _number(value: str | float) -> float | None:
    try:
        return float(value)
    except ValueError:
        return None

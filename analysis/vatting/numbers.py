"""Numbers that mean nothing, and wishes that exclude each other."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from ..digits import in_digits
from .faults import FaultKind, LimitFault
from .limits import Limits
from .stock import Stock


def number_faults(stock: Stock, limits: Limits) -> Iterator[LimitFault]:
    """Faults that the limits have whatever the stock holds."""
    yield from _quantity(limits)
    yield from _ranges(limits)
    yield from _casks(limits)
    yield from _dates(stock, limits)
    yield from _exclusive(limits)


def _fault(text: str) -> LimitFault:
    return LimitFault(FaultKind.NUMBER, text)


def _quantity(limits: Limits) -> Iterator[LimitFault]:
    if (limits.bottles is None) == (limits.litres is None):
        yield _fault("Say how much: bottles or litres, one of the two.")
    if limits.bottles is not None and limits.bottles < 1:
        yield _fault(f"{limits.bottles} bottles: give 1 or more.")
    if limits.litres is not None and not _positive(limits.litres):
        yield _fault(f"{in_digits(limits.litres, 'g')} litres: give more than 0.")
    if not _positive(limits.bottle_ml):
        yield _fault(f"A bottle of {in_digits(limits.bottle_ml, 'g')} mL: give more than 0.")
    if not 0.0 <= limits.loss_fraction < 1.0:
        yield _fault(
            f"Loss is {in_digits(limits.loss_fraction, 'g')}: it is a share from 0 to below 1."
        )
    if limits.abv_percent is not None and not 0.0 < limits.abv_percent <= 100.0:
        yield _fault(
            f"Bottling strength {in_digits(limits.abv_percent, 'g')}: give % vol "
            "above 0, up to 100."
        )


def _ranges(limits: Limits) -> Iterator[LimitFault]:
    named = {
        "age statement, years": limits.age_statement_years,
        "legal age, years": limits.minimum_age_years,
        "smallest draw, litres": limits.smallest_draw_litres,
        "litres left in the cask": limits.leave_litres,
        "least pure alcohol of a cask, litres": limits.minimum_cask_lpa,
        "greatest age of a regauge, years": limits.gauge_max_age_years,
        "share over the quantity": limits.excess_fraction,
    }
    for name, value in named.items():
        if value is not None and not (isfinite(value) and value >= 0.0):
            yield _fault(f"The {name} is {in_digits(value, 'g')}: give 0 or more.")


def _casks(limits: Limits) -> Iterator[LimitFault]:
    for name, count in (("least", limits.casks_min), ("most", limits.casks_max)):
        if count is not None and count < 1:
            yield _fault(f"The {name} number of casks is {count}: give 1 or more.")
    if (
        limits.casks_min is not None
        and limits.casks_max is not None
        and limits.casks_min > limits.casks_max
    ):
        yield _fault(
            f"At least {limits.casks_min} and at most {limits.casks_max} casks exclude each other."
        )


def _dates(stock: Stock, limits: Limits) -> Iterator[LimitFault]:
    if limits.bottling_on is None:
        return
    if stock.as_of is None:
        yield _fault("A bottling date needs the date that the stock holds for.")
    elif limits.bottling_on < stock.as_of:
        yield _fault(
            f"The bottling date {limits.bottling_on} is before {stock.as_of}, the date of the "
            "stock. Take the stock as of the bottling date."
        )


def _exclusive(limits: Limits) -> Iterator[LimitFault]:
    for name in sorted(set(limits.must_include) & set(limits.must_exclude)):
        yield LimitFault(
            FaultKind.CONTRADICTION,
            f"Cask {name} must be in and must not be in. Keep it on one of the two lists.",
        )
    if limits.whole and limits.leave_litres:
        yield LimitFault(
            FaultKind.CONTRADICTION,
            f"Whole casks leave nothing, so {in_digits(limits.leave_litres, 'g')} L cannot "
            "stay in them. Draw "
            "parts of casks, or drop one of the two.",
        )
    count = len(set(limits.must_include))
    if limits.casks_max is not None and count > limits.casks_max:
        yield LimitFault(
            FaultKind.CONTRADICTION,
            f"{count} casks must be in, and at most {limits.casks_max} casks are allowed.",
        )


def _positive(value: float) -> bool:
    return isfinite(value) and value > 0.0

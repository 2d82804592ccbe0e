"""Refuses what cannot be tried, with every reason at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from ..array_types import Floats
from ..bars import Bar
from ..counted import count, plural
from ..digits import in_digits
from ..target import Target
from .eligible import (
    Eligible,
    Reason,
    Unfit,
    barred_by,
    eligible_casks,
    share_members,
)
from .faults import FaultKind, LimitFault, LimitsError, nearest, unscored_faults
from .limits import Basis, Limits, Share
from .numbers import number_faults
from .safe import safe_share
from .stock import Stock

_KIND_OF_REASON: Mapping[Reason, FaultKind] = {
    Bar.HOLD: FaultKind.HOLD,
    Bar.FAULT: FaultKind.HOLD,
    Bar.LEAKING: FaultKind.HOLD,
    Bar.TOPPED: FaultKind.DESCRIPTORS,
    Bar.OWNER: FaultKind.OWNER,
    Bar.RESERVED: FaultKind.RESERVED,
    Bar.PARTLY_RESERVED: FaultKind.RESERVED,
    Unfit.APART: FaultKind.APART,
    Unfit.UNKNOWN: FaultKind.DESCRIPTORS,
    Unfit.NO_AGE: FaultKind.AGE,
    Unfit.LEGAL_AGE: FaultKind.AGE,
    Unfit.UNDER_AGE: FaultKind.AGE,
    Bar.GAUGE: FaultKind.GAUGE,
    Unfit.EXCLUDED: FaultKind.CONTRADICTION,
}
_REMEDY = {
    FaultKind.HOLD: "Lift the hold, or ask for the cask by name.",
    FaultKind.OWNER: "Agree it with the owner, then ask for the cask by name.",
    FaultKind.RESERVED: (
        "Free it from what it is reserved for first; if a part of it is free, allow parts of casks."
    ),
    FaultKind.DESCRIPTORS: "Draw it and nose it on the notes of the target first.",
    FaultKind.APART: (
        "Nose it once more in one session with a glass that the others share with it: the house "
        "reference, or a cask of theirs."
    ),
    FaultKind.AGE: "Leave it out, or lower the age statement.",
    FaultKind.GAUGE: "Regauge it, or allow older regauges.",
    FaultKind.CONTRADICTION: "Keep it on one of the two lists.",
    FaultKind.UNUSABLE_CASK: "Leave it out, or correct its record.",
}


def check(stock: Stock, target: Target, limits: Limits) -> Eligible:
    """Check everything that was asked and return the casks that may go in.

    Raises
    ------
    LimitsError
        With every fault found.
    """
    lines = [line.descriptor for line in target.lines]
    faults = [*number_faults(stock, limits)]
    faults += unscored_faults(target.name, lines, stock.descriptors)
    faults += [*_name_faults(stock, limits), *_share_faults(stock, limits)]
    known = tuple(name for name in lines if name in stock.descriptors)
    eligible = eligible_casks(stock, known, limits)
    faults += [*_included_faults(stock, limits, eligible)]
    if not any(fault.kind is FaultKind.NUMBER for fault in faults):
        faults += _amount_faults(stock, limits, eligible)
    if faults:
        raise LimitsError(faults)
    return eligible


def _name_faults(stock: Stock, limits: Limits) -> Iterator[LimitFault]:
    lists = {
        "must be in": limits.must_include,
        "must not be in": limits.must_exclude,
        "asked for by name": limits.asked,
    }
    said: set[str] = set()
    for what, names in lists.items():
        for name in names:
            if name not in stock.position and name not in said:
                said.add(name)
                yield LimitFault(
                    FaultKind.UNKNOWN_CASK,
                    f"Cask {name} ({what}) is not in stock.{nearest(name, stock.position)}",
                )


def _included_faults(stock: Stock, limits: Limits, eligible: Eligible) -> Iterator[LimitFault]:
    for name in dict.fromkeys(limits.must_include):
        row = stock.position.get(name)
        if row is None or not eligible.reasons[row] or name in limits.must_exclude:
            continue  # one on both lists is told of as that
        barred = barred_by(stock, limits, row)
        for reason in [each.bar for each in barred] or [eligible.reasons[row]]:
            kind = _KIND_OF_REASON.get(reason, FaultKind.UNUSABLE_CASK)
            held = reason is Bar.HOLD and stock.text("hold_reason")[row]
            if kind is FaultKind.RESERVED:
                held = next(", ".join(each.facts.reserved_for) for each in barred)
            detail = f" ({held})" if held else ""
            yield LimitFault(
                kind, f"Cask {name} must be in, but is {reason}{detail}. {_REMEDY[kind]}"
            )


def _share_faults(stock: Stock, limits: Limits) -> Iterator[LimitFault]:
    for share in limits.shares:
        yield from _one_share(stock, share)
    for column, basis in dict.fromkeys((share.column, share.basis) for share in limits.shares):
        together = [s for s in limits.shares if (s.column, s.basis) == (column, basis)]
        yield from _sum_of_shares(stock, column, basis, together)


def _one_share(stock: Stock, share: Share) -> Iterator[LimitFault]:
    if not 0.0 <= share.low <= share.high <= 1.0:
        yield LimitFault(
            FaultKind.SHARES,
            f"The share {share.words} is not a range within 0 to 100 %. Give the lower end first.",
        )
    yield from record_faults(stock, share.column, share.values)


def record_faults(
    stock: Stock, column: str | None, values: Sequence[str | float]
) -> Iterator[LimitFault]:
    """Faults of a record and its values that casks are told by: those that no cask has."""
    if column is None:
        return
    if column not in stock.casks.columns:
        columns = [str(name) for name in stock.casks.columns]
        yield LimitFault(
            FaultKind.UNKNOWN_VALUE,
            f"The casks have no record {column!r}.{nearest(column, columns)}",
        )
        return
    for value in values:
        if not share_members(stock, column, (value,)).any():
            present = sorted(set(stock.text(column)))
            yield LimitFault(
                FaultKind.UNKNOWN_VALUE,
                f"No cask has {column} {value!r}.{nearest(str(value), present)}",
            )


def _sum_of_shares(
    stock: Stock, column: str, basis: Basis, shares: list[Share]
) -> Iterator[LimitFault]:
    named = [str(value) for share in shares for value in share.values]
    for value in dict.fromkeys(named):
        if named.count(value) > 1:
            yield LimitFault(
                FaultKind.SHARES,
                f"{column} {value} stands in {named.count(value)} shares by {basis}. Keep one.",
            )
    least, most = sum(s.low for s in shares), sum(s.high for s in shares)
    if least > 1.0 + 1e-9:
        yield LimitFault(
            FaultKind.SHARES,
            f"The shares by {column} come to at least {in_digits(100 * least, '.4g')} % of "
            f"the {basis}: more "
            "than the whole. Lower one of them.",
        )
    others = ~share_members(stock, column, tuple(v for s in shares for v in s.values))
    if most < 1.0 - 1e-9 and not others.any() and len(stock):
        yield LimitFault(
            FaultKind.SHARES,
            f"The shares by {column} come to at most {in_digits(100 * most, '.4g')} % of "
            f"the {basis}, and no "
            f"cask is of another {column} to make up the rest. Raise one of them.",
        )


def _amount_faults(stock: Stock, limits: Limits, eligible: Eligible) -> list[LimitFault]:
    if not len(eligible.rows):
        return [nothing_left(limits, eligible)]
    wanted = limits.abv_percent
    strongest = float(stock.abv_percent[eligible.rows].max())
    if wanted is not None and wanted > strongest:
        return [
            LimitFault(
                FaultKind.STRENGTH,
                f"The bottling strength of {in_digits(wanted, 'g')} % vol is above that of "
                "every cask that may "
                f"go in (the strongest has {in_digits(strongest, '.1f')}). Lower it, or "
                "bottle the vat as it "
                "comes.",
            )
        ]
    return [*_too_little(stock, limits, eligible), *_too_few_casks(limits, eligible)]


def nothing_left(limits: Limits, eligible: Eligible) -> LimitFault:
    """That no cask may go in, and what keeps them out."""
    counts = eligible.counts
    told = ", ".join(f"{in_digits(count, ',')} {reason}" for reason, count in counts.items())
    only_young = set(counts) <= {Unfit.UNDER_AGE.value, Unfit.NO_AGE.value}
    kind = FaultKind.AGE if counts and only_young else FaultKind.QUANTITY
    return LimitFault(
        kind, f"No cask may go in for {limits.quantity_words} ({told or 'the stock is empty'})."
    )


def _too_little(stock: Stock, limits: Limits, eligible: Eligible) -> Iterator[LimitFault]:
    held = quantities(stock, limits)[eligible.rows]
    most = held.sum() if limits.casks_max is None else np.sort(held)[-limits.casks_max :].sum()
    needed = needed_quantity(limits)
    if most < needed:
        share = most / needed
        in_casks = "" if limits.casks_max is None else f" in {count(limits.casks_max, 'cask')}"
        amount = (
            count(int(share * limits.bottles), "bottle")
            if limits.bottles is not None
            else f"{in_digits(share * limits.final_litres, ',.0f')} litres"
        )
        yield LimitFault(
            FaultKind.QUANTITY,
            f"{limits.quantity_words[0].upper()}{limits.quantity_words[1:]} are more than the "
            f"{count(len(eligible.rows), 'cask')} that may go in "
            f"{plural('gives', len(eligible.rows), 'give')}: at most "
            f"{amount}{in_casks}. "
            "Ask for less, or allow more casks.",
        )


def _too_few_casks(limits: Limits, eligible: Eligible) -> Iterator[LimitFault]:
    least = limits.casks_min
    if least is not None and least > len(eligible.rows):
        yield LimitFault(
            FaultKind.QUANTITY,
            f"At least {count(least, 'cask')} must be in, and {len(eligible.rows)} may go in.",
        )


def quantities(stock: Stock, limits: Limits) -> Floats:
    """What each cask adds to the quantity: pure alcohol, or bulk where no water is added.

    Less what its gauge leaves in doubt, so that the bottles asked for are surely filled.
    """
    expected = stock.available_litres
    if limits.abv_percent is not None:
        expected = expected * stock.abv_percent / 100.0
    return expected * safe_share(stock, limits, needed_quantity(limits), expected)


def needed_quantity(limits: Limits) -> float:
    """The quantity needed, in the measure of :func:`quantities`."""
    if limits.abv_percent is None:
        return limits.final_litres
    return limits.final_litres * limits.abv_percent / 100.0

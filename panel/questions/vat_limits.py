"""What a vatting was asked to hold to, as text and back: kept with a plan and with a release."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from analysis.bars import HELD, Bar
from panel.errors import OakpanelError
from panel.records.share_text import read_range, read_share
from panel.store.ages import age_fault

if TYPE_CHECKING:
    from analysis.vatting import Limits, Stock

Json = dict[str, Any]
BASES = ("bulk", "lpa", "casks")
GAUGES = ("refuse", "flag")
BOTTLE_ML, ABV_PERCENT, LOSS_FRACTION, SMALLEST_DRAW_LITRES = 700.0, 46.0, 0.015, 20.0
"""What holds unless something else is asked for."""


def limits_to_dict(limits: Limits) -> Json:
    """Return limits as plain values."""
    found = asdict(limits)
    found["bottling_on"] = None if limits.bottling_on is None else limits.bottling_on.isoformat()
    return found


def read_limits(
    *,
    bottles: int | None = None,
    litres: float | None = None,
    bottle_ml: float = BOTTLE_ML,
    abv_percent: float | None = ABV_PERCENT,
    loss_fraction: float = LOSS_FRACTION,
    over_percent: float | None = None,
    age: int | None = None,
    shares: Sequence[str] = (),
    basis: str = "bulk",
    casks: str | None = None,
    whole: bool = True,
    smallest_draw: float = SMALLEST_DRAW_LITRES,
    leave: float | None = None,
    include: tuple[str, ...] = (),
    exclude: tuple[str, ...] = (),
    old_gauges: str = "refuse",
    bottling_on: date | None = None,
) -> Limits:
    """Return the limits that were typed; a cask that must be in counts as asked for.

    Raises
    ------
    OakpanelError
        A share or the number of casks is not written as it should be, or no spirit has the age.
    """
    from analysis.vatting import Basis, Drawing, GaugeRule, Limits

    if age is not None and (wrong := age_fault(age)):
        raise OakpanelError(f"An age statement of {wrong}.")
    low, high = read_range(casks) if casks else (None, None)
    return Limits(
        bottles=bottles,
        litres=litres,
        bottle_ml=bottle_ml,
        abv_percent=abv_percent,
        loss_fraction=loss_fraction,
        excess_fraction=None if over_percent is None else over_percent / 100.0,
        age_statement_years=age,
        bottling_on=bottling_on,
        shares=tuple(read_share(text, Basis[basis.upper()]) for text in shares),
        casks_min=low,
        casks_max=high,
        drawing=Drawing.WHOLE if whole else Drawing.PART,
        smallest_draw_litres=smallest_draw,
        leave_litres=leave,
        must_include=include,
        must_exclude=exclude,
        asked=include,
        gauge_rule=GaugeRule(old_gauges),
    )


def limits_from_dict(given: Json) -> Limits:
    """Return the limits that were kept.

    Raises
    ------
    OakpanelError
        They were not written by this program.
    """
    from analysis.vatting import Basis, Drawing, GaugeRule, Limits, Share

    try:
        known = {each.name: given[each.name] for each in fields(Limits) if each.name in given}
        known["shares"] = tuple(
            Share(s["column"], tuple(s["values"]), s["low"], s["high"], Basis(s["basis"]))
            for s in known.get("shares", ())
        )
        for name in ("must_include", "must_exclude", "asked", "owners"):
            known[name] = tuple(known.get(name, ()))
        if known.get("bottling_on"):
            known["bottling_on"] = date.fromisoformat(known["bottling_on"])
        for name, kind in (("drawing", Drawing), ("gauge_rule", GaugeRule)):
            if name in known:
                known[name] = kind(known[name])
        return Limits(**known)
    except (KeyError, TypeError, ValueError) as error:
        raise OakpanelError(
            f"These limits cannot be read ({error}). Give a plan that `oakpanel vat --json` wrote."
        ) from error


def all_asked(stock: Stock, limits: Limits) -> Limits:
    """Allow casks on hold, leaking or of other owners."""
    found = [
        (str(name), each)
        for name, bars in zip(stock.names, stock.bars, strict=True)
        for each in bars
        if each.bar in HELD and all(other.bar is not Bar.TOPPED for other in bars)
    ]
    owners = {each.facts.owner or "" for _, each in found if each.bar is Bar.OWNER}
    held = (name for name, each in found if each.bar is not Bar.OWNER)
    asked = tuple(dict.fromkeys((*limits.asked, *held)))
    return replace(limits, owners=tuple(sorted(owners)), asked=asked)

"""What a vatting was asked to hold to, as text and back: kept with a plan and with a release."""

from __future__ import annotations

from dataclasses import asdict, fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from analysis.bars import BY_NAME, Bar
from panel.errors import OakpanelError

if TYPE_CHECKING:
    from analysis.vatting import Basis, Limits, Share, Stock

Json = dict[str, Any]


def limits_to_dict(limits: Limits) -> Json:
    """Return limits as plain values."""
    found = asdict(limits)
    found["bottling_on"] = None if limits.bottling_on is None else limits.bottling_on.isoformat()
    return found


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


def read_share(text: str, basis: Basis) -> Share:
    """Read a share such as `wood=European oak butt:0.3`, `make=A|B:25-35%` or `site=X:0.2-0.3`.

    Raises
    ------
    OakpanelError
        It is not written so.
    """
    from analysis.vatting import Share

    record, colon, amount = text.rpartition(":")
    column, equals, values = record.partition("=")
    named = tuple(part.strip() for part in values.split("|") if part.strip())
    if not (colon and equals and column.strip() and named):
        raise OakpanelError(f"{text!r} is not a share such as 'wood=European oak butt:0.3'.")
    low, high = _ends(amount, text)
    if low == high:
        return Share.about(column.strip(), named, low, basis=basis)
    return Share(column.strip(), named, low, high, basis)


def _ends(amount: str, text: str) -> tuple[float, float]:
    percent = amount.strip().endswith("%")
    low, dash, high = amount.strip().rstrip("%").partition("-")
    try:
        ends = float(low), float(high if dash else low)
    except ValueError:
        raise OakpanelError(
            f"{amount!r} in {text!r} is not a share: write 0.3, 30% or a range 0.25-0.35."
        ) from None
    if not percent and max(ends) > 1.0:
        raise OakpanelError(
            f"{amount!r} in {text!r} is more than the whole: write 0.3 or 30%, not 30."
        )
    return (ends[0] / 100.0, ends[1] / 100.0) if percent else ends


def read_range(text: str) -> tuple[int | None, int | None]:
    """Read a number of casks: `12`, `10-40`, `10-` or `-40`.

    Raises
    ------
    OakpanelError
        It is not written so.
    """
    low, dash, high = text.strip().partition("-")
    try:
        least = int(low) if low else None
        most = int(high) if high else None
    except ValueError:
        raise OakpanelError(f"{text!r} is not a number of casks such as 12 or 10-40.") from None
    if least is None and most is None:
        raise OakpanelError(f"{text!r} is not a number of casks such as 12 or 10-40.")
    return (least, most) if dash else (least, least)


def all_asked(stock: Stock, limits: Limits) -> Limits:
    """Allow casks on hold, leaking or of other owners."""
    found = [
        (str(name), each)
        for name, bars in zip(stock.names, stock.bars, strict=True)
        for each in bars
        if each.bar in BY_NAME
    ]
    owners = {each.facts.owner or "" for _, each in found if each.bar is Bar.OWNER}
    held = (name for name, each in found if each.bar is not Bar.OWNER)
    asked = tuple(dict.fromkeys((*limits.asked, *held)))
    return replace(limits, owners=tuple(sorted(owners)), asked=asked)

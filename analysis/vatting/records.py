"""What the records hold against each cask of a stock: read from the frame, or made from it."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import pandas as pd

from ..bars import Bars, FillingFacts, Status, bars_of

BARS = "bars"
_COLUMNS = ("bulk_l", "abv", "status", "owner", "hold_reason", "gauge_age_years", "reserved_l")


def bars_in(casks: pd.DataFrame) -> list[Bars]:
    """For each row of a casks frame all that its records hold against using it.

    Parameters
    ----------
    casks
        A casks frame. Its column `bars` is taken as it is; without one the bars are made from
        `bulk_l, abv, status, owner, hold_reason, gauge_age_years, reserved_l`, as far as they
        are there.
    """
    if BARS in casks.columns:
        return casks[BARS].to_list()
    rows = casks[[name for name in _COLUMNS if name in casks.columns]].to_dict("records")
    return [bars_of(_facts(row)) for row in rows]


def _facts(row: Mapping[Hashable, Any]) -> FillingFacts:
    known = {name: value for name, value in row.items() if _there(value)}
    status, hold = known.get("status"), known.get("hold_reason") or None
    litres = float(known.get("reserved_l", 0.0))
    return FillingFacts(
        bulk_litres=_number(known, "bulk_l"),
        abv_percent=_number(known, "abv"),
        gone=status == Status.EMPTIED,
        leaking=status == Status.LEAKING,
        on_hold=hold is not None or status == Status.ON_HOLD,
        hold_reason=None if hold is None else str(hold),
        owner=str(known["owner"]) if known.get("owner") else None,
        gauge_age_years=_number(known, "gauge_age_years"),
        reserved_litres=litres,
        # A cask that is merely marked reserved counts as a whole.
        reserved_whole=status == Status.RESERVED and litres <= 0.0,
    )


def _there(value: Any) -> bool:
    """Whether something is recorded; asked thousands of times, so by what missing values are."""
    return value is not None and value is not pd.NA and bool(value == value)  # noqa: PLR0124


def _number(known: Mapping[Hashable, Any], name: str) -> float | None:
    return float(known[name]) if name in known else None

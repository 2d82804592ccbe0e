"""Fillings that are expected: casks that are not there yet, as rows of the stock of a later day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pandas as pd

from ..array_types import Floats
from ..vatting import Stock

LOSS_A_YEAR = 0.02
"""Of the litres of a cask; common practice, no source. Its own gauges tell better once it lies."""
_DAYS = 365.25


@dataclass(frozen=True)
class ExpectedCask:
    """A cask that will be filled: its name until it has one, its day, litres and strength."""

    name: str
    on: date
    litres: float
    abv_percent: float
    wood: str | None = None
    make: str | None = None


def with_expected(stock: Stock, casks: Sequence[ExpectedCask], day: date) -> Stock:
    """Return a stock with rows for casks that will be filled, as they will lie there on a day.

    Before its filling a cask holds nothing. Nobody has nosed it: it counts by litres, age and
    wood only. The column `expected` marks it.

    Parameters
    ----------
    stock
        The stock as of the day.
    casks
        In the order in which they stand below the others.
    day
        The day that the stock holds for.
    """
    frame = stock.casks.assign(expected=False)
    if not casks:
        return replace(stock, casks=frame)
    rows = pd.DataFrame([_row(each, day) for each in casks])
    more = pd.concat([frame, rows.reindex(columns=frame.columns)], ignore_index=True)
    more["expected"] = more["expected"].astype(bool)
    for column in ("bars",):
        if column in frame.columns:
            more[column] = pd.Series([*frame[column], *([()] * len(casks))], dtype=object)
    return replace(
        stock,
        casks=more,
        estimate=_longer(stock.estimate, len(casks), np.nan),
        sd=_longer(stock.sd, len(casks), np.nan),
        covariance=_longer_or_none(stock.covariance, len(casks)),
        loadings=_longer_or_none(stock.loadings, len(casks)),
        note_loadings=_longer_or_none(stock.note_loadings, len(casks)),
        grown=_longer_or_none(stock.grown, len(casks)),
        added_sd=_longer_or_none(stock.added_sd, len(casks)),
    )


def _row(each: ExpectedCask, day: date) -> dict[str, object]:
    years = max((day - each.on).days / _DAYS, 0.0)
    litres = each.litres * (1.0 - LOSS_A_YEAR) ** years if day >= each.on else 0.0
    known = {
        "cask": each.name,
        "filling": f"{each.name}/1",
        "wood": each.wood,
        "make": each.make,
        "age_years": years,
        "abv": each.abv_percent,
        "bulk_l": litres,
        "lpa": litres * each.abv_percent / 100.0,
        "fill_abv": each.abv_percent,
        "status": "in cask",
        "gauge_age_years": 0.0,
        "reserved_l": 0.0,
        "expected": True,
        "foretold": False,
    }
    known |= dict.fromkeys(("abv_low", "abv_high"), each.abv_percent)
    known |= dict.fromkeys(("bulk_low", "bulk_high", "gauge_l"), litres)
    return known | dict.fromkeys(("bulk_error", "bulk_shared", "abv_error", "abv_shared"), 0.0)


def _longer(values: Floats, more: int, fill: float) -> Floats:
    tail = np.full((more, *values.shape[1:]), fill)
    found: Floats = np.concatenate([values, tail])
    return found


def _longer_or_none(values: Floats | None, more: int) -> Floats | None:
    return None if values is None else _longer(values, more, 0.0)

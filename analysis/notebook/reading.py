"""Draws, stock and targets from saved files."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pandas as pd

from ..bar_text import bars_from_text
from ..errors import FileError, UnknownNameError
from ..target import Target, TargetLine
from ..vatting import MixingRule
from .table import SavedTable, read_table

_OF_A_CASK = ("wood", "previous", "fill_number", "size_l", "phenol_ppm", "fill_abv", "make")
DRAWN = (
    *("sample", "cask", "filling", "drawn_on", "age_years", "years_before", *_OF_A_CASK, "batch"),
    "warehouse",
)
STOCK_NAMES = (
    *("cask", "filling", "wood", "previous", "make", "site", "warehouse", "status", "owner"),
    *("hold_reason", "row", "tier", "batch", "bars", "bar_facts"),
)
STOCK_NUMBERS = (
    *("fill_number", "size_l", "age_years", "phenol_ppm", "fill_abv", "abv", "bulk_l", "lpa"),
    *("reserved_l", "gauge_age_years", "gauge_l", "gauge_abv", "bulk_low", "bulk_high"),
    *("bulk_error", "bulk_shared", "abv_low", "abv_high", "abv_error", "abv_shared"),
    "years_before",
)
STOCK_DAYS = ("as_of", "stock_on")
_STOCK_NEEDED = ("cask", "filling", "age_years", "abv", "bulk_l")
_NUMBERS = {*STOCK_NUMBERS, "aim", "tolerance", "weight", "exponent", "gain", "bench_sd"}
_DAYS = {*STOCK_DAYS, "drawn_on"}


class Targets(dict[str, Target]):
    """Targets by name."""

    def __missing__(self, name: str) -> Target:
        """Refuse a name that is not there, with the nearest."""
        raise UnknownNameError("target", name, list(self))


def read_drawn(path: str | Path) -> pd.DataFrame:
    """Read what `oakpanel save drawn` writes: each draw with what is known of its cask.

    Raises
    ------
    FileError
        With every fault: row, column and value.
    """
    table = read_table(path)
    table.need(("sample", "cask", "filling", "wood", "fill_number", "age_years"))
    table.refuse_others(DRAWN)
    return _frame(table)


def read_stock(path: str | Path) -> pd.DataFrame:
    """Read what `oakpanel save stock` writes: what lies in each cask on a day, and what bars it.

    `stock_on` is the day that ages, litres and strengths hold for, `as_of` the day by which
    everything was on record.

    Raises
    ------
    FileError
        With every fault: row, column and value.
    """
    table = read_table(path)
    table.need(_STOCK_NEEDED)
    table.refuse_others((*STOCK_NAMES, *STOCK_NUMBERS, *STOCK_DAYS))
    frame = _frame(table)
    if "bars" not in frame.columns or "bar_facts" not in frame.columns:
        return frame
    try:
        told = zip(table.cells["bars"], table.cells["bar_facts"], strict=True)
        bars = [bars_from_text(names, behind) for names, behind in told]
    except ValueError as error:
        raise FileError(table.file, [str(error)]) from error
    return frame.assign(bars=pd.Series(bars, dtype="object")).drop(columns="bar_facts")


def read_targets(path: str | Path) -> Mapping[str, Target]:
    """Read what `oakpanel save targets` writes: every target by its name.

    Raises
    ------
    FileError
        With every fault: row, column and value.
    TargetError
        A target that means nothing, such as an aim off the line.
    """
    table = read_table(path)
    table.need(("target", "descriptor", "aim", "tolerance"))
    table.refuse_others(("target", "descriptor", "aim", "tolerance", "weight"))
    frame = _frame(table)
    if "weight" not in frame.columns:
        frame["weight"] = 1.0
    frame["weight"] = frame["weight"].fillna(1.0)
    columns = (frame[name] for name in ("target", "descriptor", "aim", "tolerance", "weight"))
    lines = [
        (str(name), TargetLine(str(note), float(aim), float(tolerance), float(weight)))
        for name, note, aim, tolerance, weight in zip(*columns, strict=True)
    ]
    names = dict.fromkeys(name for name, _ in lines)
    return Targets(
        (name, Target(name, tuple(line for of, line in lines if of == name))) for name in names
    )


def read_mixing(path: str | Path) -> MixingRule:
    """Read what `oakpanel save mixing` writes: how notes mix in the house.

    Raises
    ------
    FileError
        With every fault: row, column and value.
    InputError
        An exponent or gain that is not above zero.
    """
    table = read_table(path)
    columns = ("descriptor", "exponent", "gain", "bench_sd")
    table.need(columns)
    table.refuse_others(columns)
    frame = _frame(table).set_index("descriptor")
    exponents, gains, bench = (
        {str(note): float(value) for note, value in frame[name].dropna().items()}
        for name in columns[1:]
    )
    return MixingRule(exponents, gains, bench_sd=bench)


def _frame(table: SavedTable) -> pd.DataFrame:
    """Each column as its kind of value; all faults at once."""
    table.raise_faults()
    found = {}
    for name in table.headings:
        if name in _NUMBERS:
            found[name] = table.number(name)
        else:
            found[name] = table.day(name) if name in _DAYS else table.text(name)
    table.raise_faults()
    return pd.DataFrame(found)

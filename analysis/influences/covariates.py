"""The frame of what is known of each draw, its checks, and which draws can be explained.

*draws*: one row a draw from a cask, with these columns; the rest of a cask's records may stand
beside them.

==================== =====================================================================
column               what it holds
==================== =====================================================================
sample               the draw, as the scores name it (for stock that is foretold: the filling)
cask, filling        where it was drawn
wood, fill_number    the wood in the house's words; 1 for its first filling
age_years            age of the spirit when drawn
phenol_ppm           phenols of the malt
fill_abv             strength when filled, % vol
make                 the new-make spirit
previous             what the wood held before (default: missing, nothing)
warehouse            where it lay (default: missing)
size_l               size of the cask in litres (default: missing)
batch                casks filled with one make in one year (default: one each)
years_before         age that the spirit had when it came into this cask (default 0)
drawn_on             date of the draw (default: missing)
==================== =====================================================================
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd

from ..errors import FrameError

REQUIRED = ("sample", "cask", "filling", "wood", "fill_number", "age_years")
NEEDED = ("wood", "fill_number", "age_years", "phenol_ppm", "fill_abv", "make")
"""A draw without one of these cannot be explained."""
DEFAULTS: Mapping[str, Any] = {
    "phenol_ppm": np.nan,
    "fill_abv": np.nan,
    "make": None,
    "previous": None,
    "warehouse": None,
    "size_l": np.nan,
    "batch": None,
    "years_before": 0.0,
    "drawn_on": pd.NaT,
}
NOTHING = "nothing"
_NUMBERS = ("fill_number", "age_years", "phenol_ppm", "fill_abv", "size_l", "years_before")
_NAMES = ("sample", "cask", "filling", "wood", "make", "warehouse", "batch")
_WORDS = {
    "wood": "no wood",
    "fill_number": "no fill number",
    "age_years": "no age",
    "phenol_ppm": "no phenols of the malt",
    "fill_abv": "no strength when filled",
    "make": "no make",
}


def check_draws(draws: pd.DataFrame) -> pd.DataFrame:
    """Check a draws frame and return a copy with every column.

    Raises
    ------
    FrameError
        With every fault: missing columns, a sample twice, a number that is none or out of range.

    Examples
    --------
    >>> check_draws(pd.DataFrame({"sample": ["x"], "cask": ["c"]}))
    Traceback (most recent call last):
    ...
    oakpanel.analysis.errors.FrameError: The draws frame cannot be used. Missing columns: filling, \
wood, fill_number, age_years. Add them.
    """
    missing = [name for name in REQUIRED if name not in draws.columns]
    if missing:
        raise FrameError("draws", [f"Missing columns: {', '.join(missing)}. Add them."])
    frame = draws.reset_index(drop=True).copy()
    for name, value in DEFAULTS.items():
        if name not in frame.columns:
            frame[name] = value
    problems = [problem for name in _NUMBERS for problem in _number(frame, name)]
    problems += _twice(frame)
    if problems:
        raise FrameError("draws", problems)
    for name in _NAMES:
        frame[name] = _named(frame[name])
    held = _named(frame["previous"])
    frame["previous"] = held.where(held.notna() & (held != ""), NOTHING)
    own = "filling " + frame["filling"].astype("str")
    frame["batch"] = frame["batch"].where(frame["batch"].notna(), own)
    frame["drawn_on"] = pd.to_datetime(frame["drawn_on"])
    return frame


def _named(values: pd.Series) -> pd.Series:
    return values.astype("object").where(values.notna(), None).astype("str")


def _number(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    numbers = pd.to_numeric(given, errors="coerce").astype("float64")
    frame[name] = numbers
    odd = (given.notna() & numbers.isna()) | (numbers < 0) | np.isinf(numbers)
    if not odd.any():
        return []
    row = int(np.flatnonzero(odd.to_numpy())[0])
    return [f"Row {row + 1} has a {name} of {given.iloc[row]!r}: give a number from 0 up."]


def _twice(frame: pd.DataFrame) -> list[str]:
    twice = frame["sample"][frame["sample"].duplicated()].astype("str").unique().tolist()
    if not twice:
        return []
    return [f"Sample {', '.join(twice[:5])} stands there more than once: keep one row of each."]


def explainable(frame: pd.DataFrame) -> tuple[pd.DataFrame, dict[str, int]]:
    """Split off the draws that cannot be explained, counted by reason."""
    reason = why_not(frame)
    left_out = {str(key): int(count) for key, count in reason.dropna().value_counts().items()}
    return frame[reason.isna()].reset_index(drop=True), left_out


def why_not(frame: pd.DataFrame) -> pd.Series:
    """Return for each row why it cannot be explained; missing where it can."""
    reason = pd.Series([None] * len(frame), index=frame.index, dtype="object")
    reason[frame["years_before"] > 0] = "spirit that lay in more than one wood"
    for name in NEEDED:
        reason = reason.where(reason.notna() | frame[name].notna(), _WORDS[name])
    return reason

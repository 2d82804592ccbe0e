"""The contract of the scores frame, and every fault of a frame in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd

from .array_types import Flags
from .digits import in_digits
from .errors import FrameError
from .frame_columns import (
    NameCodes,
    ScoreCodes,
    as_dates,
    as_numbers,
    as_text,
    distinct,
    number_glasses,
    or_none,
)
from .score_statuses import IN_TRAINING, NOT_REACHED, OFF_THE_LINE

REQUIRED = ("session", "assessor", "sample", "replicate", "descriptor", "score")
DEFAULTS: Mapping[str, Any] = {
    "flight": 1,
    "held_on": pd.NaT,
    "draw": None,
    "filling": None,
    "cask": None,
    "kind": "test",
    "batch": None,
    "drawn_on": pd.NaT,
    "age_years": np.nan,
    "position": np.nan,
    "descriptor_version": 1,
    "scale_low": 0.0,
    "scale_high": 100.0,
    "status": "kept",
}
KINDS = ("test", "reference", "warm_up", "trial", "market")
STATUSES = (
    *("kept", "void", "re-poured", "knew_key", "swap_suspected"),
    *(IN_TRAINING, NOT_REACHED, OFF_THE_LINE),
)
WAITING = "swap_suspected"
"""Two glasses may have changed places: nobody reckons with them until it is cleared up."""
TAKEN_BACK = ("void", "re-poured")
"""Another glass was poured in their place: its scores are a second row of the same glass."""
KEY = ["session", "assessor", "sample", "replicate", "descriptor"]

_TEXT = ("session", "assessor", "sample", "descriptor", "kind", "status")
_NAMES = ("draw", "filling", "cask", "batch")
_DATES = ("held_on", "drawn_on")
_NUMBERS = ("replicate", "score", "scale_low", "scale_high", "age_years", "position")
_NEVER_MISSING = ("replicate", "scale_low", "scale_high")
_LISTED = 5


def check_scores(scores: pd.DataFrame) -> pd.DataFrame:
    """Check a scores frame and return a copy with every column of the contract.

    Parameters
    ----------
    scores
        See :mod:`analysis` for the columns.

    Returns
    -------
    pandas.DataFrame
        A copy: names as text, numbers as floats, dates as timestamps, absent optional columns
        at their defaults, rows in the order given.

    Raises
    ------
    FrameError
        With every fault found: missing columns, empty names, numbers that are none,
        infinities, unknown kinds or statuses, a scale without length, a score off its scale,
        one glass scored twice on one descriptor. Void and re-poured glasses do not count here:
        another was poured in their place.

    Examples
    --------
    >>> import pandas as pd
    >>> row = {"session": "S1", "assessor": "A", "sample": "x", "replicate": 1}
    >>> frame = pd.DataFrame([{**row, "descriptor": "smoke", "score": 12}])
    >>> check_scores(frame).loc[0, ["kind", "status"]].tolist()
    ['test', 'kept']
    >>> check_scores(pd.concat([frame, frame]))
    Traceback (most recent call last):
    ...
    oakpanel.analysis.errors.FrameError: The scores frame cannot be used. 1 glass is scored more \
than once on one descriptor: session S1, assessor A, sample x, replicate 1, smoke (2 times). Keep \
one row of each, or number the replicates.
    """
    return checked(scores)[0]


def checked(scores: pd.DataFrame, *, keep: Sequence[str] = ()) -> tuple[pd.DataFrame, ScoreCodes]:
    """Return what :func:`check_scores` returns, and its rows as numbers.

    `keep` names statuses that are to be computed with, and so count as scored, whatever they are.
    """
    missing = [name for name in REQUIRED if name not in scores.columns]
    if missing:
        raise FrameError("scores", [f"Missing columns: {', '.join(missing)}. Add them."])
    # A lazy copy where pandas writes on copies, a real one where it does not.
    frame = scores.reset_index(drop=True)
    problems, names = _coerce(frame)
    if problems:
        raise FrameError("scores", problems)
    for name, value in DEFAULTS.items():
        if name not in frame.columns:
            frame[name] = value
    glass = number_glasses(
        [names[name] for name in ("session", "assessor", "sample")], frame["replicate"].to_numpy()
    )
    codes = ScoreCodes(**names, glass=glass)
    problems = [*_choices(codes), *_scale(frame), *_duplicates(frame, codes, keep)]
    if problems:
        raise FrameError("scores", problems)
    return frame, codes


def _coerce(frame: pd.DataFrame) -> tuple[list[str], dict[str, NameCodes]]:
    """Bring the columns that were given to their types; name the faults, number the names."""
    problems: list[str] = []
    names = {name: NameCodes.constant(DEFAULTS[name], len(frame)) for name in ("kind", "status")}
    for name in _given(frame, _TEXT):
        frame[name], names[name] = as_text(frame[name])
        problems += _lacking(names[name].codes < 0, name)
    for name in _given(frame, _NAMES):
        frame[name] = or_none(frame[name])
    for name in _given(frame, _NUMBERS):
        problems += _numbers(frame, name)
    for name in _given(frame, _NEVER_MISSING):
        problems += _lacking(np.isnan(frame[name].to_numpy()), name)
    if not problems:
        problems += _whole_replicates(frame)
    for name in _given(frame, _DATES):
        problems += _dates(frame, name)
    return problems, names


def _given(frame: pd.DataFrame, names: Sequence[str]) -> list[str]:
    return [name for name in names if name in frame.columns]


def _lacking(rows: Flags, name: str) -> list[str]:
    return [_at(rows, f"has no {name}")] if rows.any() else []


def _numbers(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    numbers = as_numbers(given)
    frame[name] = numbers
    problems = []
    if numbers is not given:
        odd = (given.notna() & numbers.isna()).to_numpy()
        if odd.any():
            first = given[odd].iloc[0]
            problems.append(_at(odd, f"has a {name} that is no number (first: {first!r})"))
    endless = np.isinf(numbers.to_numpy())
    if endless.any():
        problems.append(_at(endless, f"has an infinite {name}"))
    return problems


def _whole_replicates(frame: pd.DataFrame) -> list[str]:
    replicate = frame["replicate"].to_numpy()
    odd = np.trunc(replicate) != replicate
    if odd.any():
        return [_at(odd, "has a replicate that is no whole number")]
    frame["replicate"] = frame["replicate"].astype("int64")
    return []


def _dates(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    dates = as_dates(given)
    frame[name] = dates
    if dates is given:
        return []
    odd = (given.notna() & dates.isna()).to_numpy()
    return [_at(odd, f"has a {name} that is no date (write 2026-03-31)")] if odd.any() else []


def _choices(codes: ScoreCodes) -> list[str]:
    problems = []
    for name, column, allowed in (
        ("kind", codes.kind, KINDS),
        ("status", codes.status, STATUSES),
    ):
        odd = [said for said in column.names[column.used] if said not in allowed]
        if odd:
            problems.append(
                f"Unknown {name}: {', '.join(odd[:_LISTED])}. It is one of {', '.join(allowed)}."
            )
    return problems


def _scale(frame: pd.DataFrame) -> list[str]:
    low, high, score = (frame[name].to_numpy() for name in ("scale_low", "scale_high", "score"))
    problems = []
    flat = high <= low
    if flat.any():
        problems.append(_at(flat, "has a scale whose high end is not above its low end"))
    off = ((score < low) | (score > high)) & ~flat
    if off.any():
        i = int(np.flatnonzero(off)[0])
        first = (
            f"{in_digits(score[i], 'g')} on {in_digits(low[i], 'g')} to {in_digits(high[i], 'g')}"
        )
        problems.append(_at(off, f"has a score off its scale (first: {first})"))
    return problems


def _duplicates(frame: pd.DataFrame, codes: ScoreCodes, keep: Sequence[str]) -> list[str]:
    n_glasses, n_notes = int(codes.glass.max(initial=-1)) + 1, len(codes.descriptor.names)
    lines = codes.glass * n_notes + codes.descriptor.codes
    if len(distinct(lines, n_glasses * n_notes)) == len(frame):
        return []
    gone = frame["status"].isin([name for name in TAKEN_BACK if name not in keep])
    counts = frame[~gone].groupby(KEY, sort=False).size().reset_index(name="times")
    twice = counts[counts["times"] > 1]
    if twice.empty:
        return []
    shown = [
        "session {}, assessor {}, sample {}, replicate {}, {} ({} times)".format(*row)
        for row in twice.head(_LISTED).itertuples(index=False)
    ]
    more = "; ..." if len(twice) > _LISTED else ""
    what = "glass is" if len(twice) == 1 else "glasses are"
    return [
        f"{len(twice)} {what} scored more than once on one descriptor: {'; '.join(shown)}{more}. "
        "Keep one row of each, or number the replicates."
    ]


def _at(rows: Flags, what: str) -> str:
    """Say in which rows (counted from 1) something is wrong."""
    numbers = [int(i) + 1 for i in np.flatnonzero(rows)]
    listed = ", ".join(str(i) for i in numbers[:_LISTED])
    more = f" and {len(numbers) - _LISTED} more" if len(numbers) > _LISTED else ""
    return f"Row {listed}{more} {what}."

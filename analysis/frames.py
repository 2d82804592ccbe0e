"""The scores frame: its checks, what of it is used, and the house scale."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.errors import FrameError

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
STATUSES = ("kept", "void", "re-poured", "knew_key", "swap_suspected")
KEY = ["session", "assessor", "sample", "replicate", "descriptor"]
TEST_KINDS = ("test", "trial", "market")
"""Kinds that the indices of a panel are computed on; a reference is known to it."""

_TEXT = ("session", "assessor", "sample", "descriptor", "kind", "status")
_NAMES = ("draw", "filling", "cask", "batch")
_DATES = ("held_on", "drawn_on")
_LISTED = 5


@dataclass(frozen=True)
class Usable:
    """Scores that may be computed with, and what was left out.

    Attributes
    ----------
    scores
        Checked scores with every column of the contract; no missing score among them.
    blanks
        Rows of glasses in use whose line was left blank.
    left_out
        Number of rows left out, by reason in words.
    """

    scores: pd.DataFrame
    blanks: pd.DataFrame
    left_out: Mapping[str, int]

    @property
    def n_used(self) -> int:
        """Number of scores in use."""
        return len(self.scores)


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
        one glass scored twice on one descriptor.

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
    analysis.errors.FrameError: The scores frame cannot be used. 1 glass is scored more than \
once on one descriptor: session S1, assessor A, sample x, replicate 1, smoke (2 times). Keep \
one row of each, or number the replicates.
    """
    missing = [name for name in REQUIRED if name not in scores.columns]
    if missing:
        raise FrameError("scores", [f"Missing columns: {', '.join(missing)}. Add them."])
    frame = scores.reset_index(drop=True).copy()
    for name, value in DEFAULTS.items():
        if name not in frame.columns:
            frame[name] = value
    problems = _coerce(frame)
    if not problems:
        problems = [*_choices(frame), *_scale(frame), *_duplicates(frame)]
    if problems:
        raise FrameError("scores", problems)
    return frame


def _coerce(frame: pd.DataFrame) -> list[str]:
    problems: list[str] = []
    for name in _TEXT:
        if frame[name].isna().any():
            problems.append(_at(frame, frame[name].isna(), f"has no {name}"))
        frame[name] = frame[name].astype("str")
    for name in _NAMES:
        frame[name] = frame[name].astype("object").where(frame[name].notna(), None)
    for name in ("replicate", "score", "scale_low", "scale_high", "age_years", "position"):
        problems += _numbers(frame, name)
    for name in ("replicate", "scale_low", "scale_high"):
        if frame[name].isna().any():
            problems.append(_at(frame, frame[name].isna(), f"has no {name}"))
    if not problems:
        problems += _whole_replicates(frame)
    for name in _DATES:
        problems += _dates(frame, name)
    return problems


def _numbers(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    numbers = pd.to_numeric(given, errors="coerce").astype("float64")
    frame[name] = numbers
    problems = []
    odd = given.notna() & numbers.isna()
    if odd.any():
        first = given[odd].iloc[0]
        problems.append(_at(frame, odd, f"has a {name} that is no number (first: {first!r})"))
    endless = pd.Series(np.isinf(numbers.to_numpy()))
    if endless.any():
        problems.append(_at(frame, endless, f"has an infinite {name}"))
    return problems


def _whole_replicates(frame: pd.DataFrame) -> list[str]:
    odd = frame["replicate"] % 1 != 0
    if odd.any():
        return [_at(frame, odd, "has a replicate that is no whole number")]
    frame["replicate"] = frame["replicate"].astype("int64")
    return []


def _dates(frame: pd.DataFrame, name: str) -> list[str]:
    given = frame[name]
    dates = pd.to_datetime(given, errors="coerce", format="ISO8601", utc=True)
    dates = dates.dt.tz_localize(None)
    frame[name] = dates
    odd = given.notna() & dates.isna()
    return (
        [_at(frame, odd, f"has a {name} that is no date (write 2026-03-31)")] if odd.any() else []
    )


def _choices(frame: pd.DataFrame) -> list[str]:
    problems = []
    for name, allowed in (("kind", KINDS), ("status", STATUSES)):
        odd = sorted(set(frame[name]) - set(allowed))
        if odd:
            problems.append(
                f"Unknown {name}: {', '.join(odd[:_LISTED])}. It is one of {', '.join(allowed)}."
            )
    return problems


def _scale(frame: pd.DataFrame) -> list[str]:
    problems = []
    flat = frame["scale_high"] <= frame["scale_low"]
    if flat.any():
        problems.append(_at(frame, flat, "has a scale whose high end is not above its low end"))
    off = (frame["score"] < frame["scale_low"]) | (frame["score"] > frame["scale_high"])
    off &= ~flat
    if off.any():
        row = frame[off].iloc[0]
        problems.append(
            _at(
                frame,
                off,
                f"has a score off its scale (first: {row['score']:g} on "
                f"{row['scale_low']:g} to {row['scale_high']:g})",
            )
        )
    return problems


def _duplicates(frame: pd.DataFrame) -> list[str]:
    counts = frame.groupby(KEY, sort=False).size().reset_index(name="times")
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


def _at(frame: pd.DataFrame, rows: pd.Series, what: str) -> str:
    """Say in which rows (counted from 1) something is wrong."""
    numbers = [int(i) + 1 for i in np.flatnonzero(rows.to_numpy())]
    listed = ", ".join(str(i) for i in numbers[:_LISTED])
    more = f" and {len(numbers) - _LISTED} more" if len(numbers) > _LISTED else ""
    return f"Row {listed}{more} {what}."


def usable(
    scores: pd.DataFrame,
    *,
    keep: Sequence[str] = ("kept", "swap_suspected"),
    kinds: Sequence[str] = ("test", "trial", "market", "reference"),
) -> Usable:
    """Leave out what must not be computed with, and count it.

    Parameters
    ----------
    scores
        A scores frame; it is checked first.
    keep
        The statuses that stay. Void and re-poured glasses and those of somebody who knew the
        key are out by default; a suspected swap is no proof, so it stays.
    kinds
        The kinds of glass that stay. The warm-up is out by default.

    Returns
    -------
    Usable

    Raises
    ------
    FrameError
        See :func:`check_scores`.

    Examples
    --------
    >>> import pandas as pd
    >>> row = {"session": "S1", "assessor": "A", "replicate": 1, "descriptor": "smoke"}
    >>> frame = pd.DataFrame([
    ...     {**row, "sample": "x", "score": 12, "status": "kept"},
    ...     {**row, "sample": "y", "score": 30, "status": "void"},
    ... ])
    >>> found = usable(frame)
    >>> found.n_used, dict(found.left_out)
    (1, {'void': 1})
    """
    frame = check_scores(scores)
    left_out: dict[str, int] = {}
    for status in STATUSES:
        dropped = frame["status"] == status
        if status not in keep and dropped.any():
            left_out[status.replace("_", " ")] = int(dropped.sum())
            frame = frame[~dropped]
    for kind in KINDS:
        dropped = frame["kind"] == kind
        if kind not in kinds and dropped.any():
            left_out[f"{kind.replace('_', '-')} glass"] = int(dropped.sum())
            frame = frame[~dropped]
    blank = frame["score"].isna()
    if blank.any():
        left_out["left blank"] = int(blank.sum())
    kept = frame[~blank].reset_index(drop=True)
    return Usable(scores=kept, blanks=frame[blank].reset_index(drop=True), left_out=left_out)


def on_house_scale(scores: pd.DataFrame) -> pd.DataFrame:
    """Map scores from the scale they were given on to the house line, 0 to 100.

    Parameters
    ----------
    scores
        A checked scores frame.

    Returns
    -------
    pandas.DataFrame
        A copy with ``score = 100 (score - scale_low) / (scale_high - scale_low)`` and the
        scale columns at 0 and 100. A score given on 0 to 100 does not change by a bit.

    Examples
    --------
    >>> import pandas as pd
    >>> frame = pd.DataFrame({"score": [7.5], "scale_low": [0.0], "scale_high": [15.0]})
    >>> on_house_scale(frame)["score"].tolist()
    [50.0]
    """
    frame = scores.copy()
    other = (frame["scale_low"] != 0.0) | (frame["scale_high"] != 100.0)
    if other.any():
        low, high = frame["scale_low"], frame["scale_high"]
        mapped = 100.0 * (frame["score"] - low) / (high - low)
        frame["score"] = frame["score"].where(~other, mapped)
        frame["scale_low"], frame["scale_high"] = 0.0, 100.0
    return frame

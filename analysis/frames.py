"""The scores frame: its checks, what of it is used, and the house scale."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import pandas as pd

from .array_types import Flags
from .frame_check import KINDS, STATUSES, WAITING, check_scores, checked
from .frame_columns import NameCodes, ScoreCodes
from .score_statuses import USED

__all__ = [
    "TEST_KINDS",
    "USED",
    "WAITING",
    "Usable",
    "check_scores",
    "on_house_scale",
    "reason_of",
    "usable",
]

TEST_KINDS = ("test", "trial", "market")
"""Kinds that the indices of a panel are computed on; a reference is known to it."""


@dataclass(frozen=True)
class Usable:
    """Scores that may be computed with, and what was left out.

    Attributes
    ----------
    scores
        Checked scores with every column of the contract; no missing score among them.
    blanks
        Flags of glasses in use whose line was left blank.
    left_out
        Number of rows left out, by reason in words.
    codes
        The rows of `scores` as numbers.
    """

    scores: pd.DataFrame
    blanks: pd.DataFrame
    left_out: Mapping[str, int]
    codes: ScoreCodes

    @property
    def n_used(self) -> int:
        """Number of scores in use."""
        return len(self.scores)

    def until(self, as_of: date) -> Usable:
        """Scores of sessions held on or before a date, and of those without one."""
        rows = ~(self.scores["held_on"] > pd.Timestamp(as_of)).to_numpy()
        early = ~(self.blanks["held_on"] > pd.Timestamp(as_of)).to_numpy()
        return Usable(
            scores=_rows_of(self.scores, rows),
            blanks=_rows_of(self.blanks, early),
            left_out=self.left_out,
            codes=self.codes.where(rows),
        )


def usable(
    scores: pd.DataFrame,
    *,
    keep: Sequence[str] = USED,
    kinds: Sequence[str] = ("test", "trial", "market", "reference"),
) -> Usable:
    """Leave out what must not be computed with, and count it.

    Parameters
    ----------
    scores
        A scores frame; it is checked first.
    keep
        The statuses that stay. Void and re-poured glasses, those of somebody who knew the key
        and those that may have changed places are out by default.
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
    frame, codes = checked(scores, keep=keep)
    rows = np.ones(len(frame), dtype=np.bool_)
    left_out: dict[str, int] = {}
    for status, which in _unwanted(codes.status, STATUSES, keep):
        left_out[reason_of(status)] = int(which.sum())
        rows &= ~which
    for kind, which in _unwanted(codes.kind, KINDS, kinds):
        if (which & rows).any():
            left_out[f"{kind.replace('_', '-')} glass"] = int((which & rows).sum())
            rows &= ~which
    blank = frame["score"].isna().to_numpy() & rows
    if blank.any():
        left_out["left blank"] = int(blank.sum())
    rows &= ~blank
    return Usable(
        scores=_rows_of(frame, rows),
        blanks=_rows_of(frame, blank),
        left_out=left_out,
        codes=codes.where(rows),
    )


def reason_of(status: str) -> str:
    """Return under which reason scores of a status are counted as left out."""
    return status.replace("_", " ")


def _unwanted(
    column: NameCodes, allowed: Sequence[str], wanted: Sequence[str]
) -> Iterator[tuple[str, Flags]]:
    """Flags of each name that was not asked for, where there are any."""
    places = {column.names[place]: place for place in column.used}
    for name in allowed:
        if name in places and name not in wanted:
            yield name, column.codes == places[name]


def _rows_of(frame: pd.DataFrame, rows: Flags) -> pd.DataFrame:
    return frame if rows.all() else frame[rows].reset_index(drop=True)


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
    low, high, score = (scores[name].to_numpy() for name in ("scale_low", "scale_high", "score"))
    other = (low != 0.0) | (high != 100.0)
    if not other.any():
        return scores.assign()
    mapped = 100.0 * (score - low) / (high - low)
    return scores.assign(score=np.where(other, mapped, score), scale_low=0.0, scale_high=100.0)

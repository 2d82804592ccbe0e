"""Which draws the models for moving notes are fitted to."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..array_types import Codes

MOST_DRAWS = 600
"""Draws that the models for moving stand on: more make them slower and hardly surer. A cask
beyond them is moved from its own draw as its wood, fill and make let expect."""


def draws_to_learn_from(draws: pd.DataFrame, estimates: pd.DataFrame) -> pd.DataFrame:
    """The draws that models for moving are fitted to: all, or `MOST_DRAWS` of those nosed.

    Of many, fillings drawn more than once come first, then draws spread over the others.
    """
    nosed = draws[draws["sample"].isin(estimates["sample"])].reset_index(drop=True)
    if len(nosed) <= MOST_DRAWS:
        return draws
    times = nosed.groupby("filling")["sample"].transform("size").to_numpy()
    again, once = np.flatnonzero(times > 1), np.flatnonzero(times == 1)
    order = nosed.iloc[once].sort_values(["wood", "make", "age_years"], kind="stable").index
    kept = again if len(again) <= MOST_DRAWS // 2 else _whole(nosed, again, MOST_DRAWS // 2)
    room = MOST_DRAWS - len(kept)
    spread = order.to_numpy()[np.linspace(0, len(order) - 1, min(room, len(order))).astype(int)]
    return nosed.iloc[np.unique(np.concatenate([kept, spread]))].reset_index(drop=True)


def _whole(nosed: pd.DataFrame, rows: Codes, most: int) -> Codes:
    """Rows of fillings spread over those given, every draw of each; about `most` rows."""
    fillings = nosed["filling"].iloc[rows].drop_duplicates().to_numpy()
    share = most / len(rows)
    some = fillings[np.linspace(0, len(fillings) - 1, int(share * len(fillings))).astype(int)]
    return rows[nosed["filling"].iloc[rows].isin(list(some)).to_numpy()]

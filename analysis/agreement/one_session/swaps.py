"""Glasses of one tray that may stand under each other's codes, and scores read as if they did."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import pandas as pd

from ...array_types import Codes


class Exchange(StrEnum):
    """What may have happened to a tray."""

    PAIR = "two glasses exchanged"
    MOVED = "moved on by one glass"
    TRAYS = "trays of two people exchanged"


@dataclass(frozen=True)
class Swap:
    """What a tray reads like, other than as it was recorded.

    Attributes
    ----------
    samples
        Of a pair, by name; none otherwise.
    replicates
        Which glass of each; None when all glasses of the two samples read so.
    probability
        Chance of it, against the tray as recorded and anything else that may have happened.
    odds
        The same as odds, ``probability / (1 - probability)``, cut off at a million.
    n_notes
        Notes that speak for it.
    marked
        Whether the lead marked the two as suspected; then they are given whatever the odds.
    kind
        What happened.
    other
        Whose tray it was exchanged with.
    by
        A tray that moved: what is recorded of a place is of the glass so many places on.
    apart
        Points between the two samples by the others' means, over the notes told apart: near ones
        are hard to tell exchanged.
    """

    samples: tuple[str, ...]
    replicates: tuple[int, int] | None
    probability: float
    odds: float
    n_notes: int
    marked: bool = False
    kind: Exchange = Exchange.PAIR
    other: str | None = None
    by: int | None = None
    apart: float | None = None


def exchanged(scores: pd.DataFrame, assessor: str, swap: Swap) -> pd.DataFrame:
    """A copy of a scores frame as it would stand had the glasses changed places, on every note.

    It answers "what if"; the scores themselves stay as they were given.
    """
    if swap.kind is Exchange.PAIR:
        return _pair(scores, assessor, swap)
    if swap.kind is Exchange.MOVED:
        return _relabelled(scores, scores, assessor, donor=assessor, by=swap.by or 0)
    other = swap.other or assessor
    one = _relabelled(scores, scores, assessor, donor=other)
    return _relabelled(one, scores, other, donor=assessor)


def _pair(scores: pd.DataFrame, assessor: str, swap: Swap) -> pd.DataFrame:
    one, other = swap.samples
    own = scores["assessor"] == assessor
    frame = scores.copy()
    if swap.replicates is None:
        frame["sample"] = frame["sample"].where(
            ~own, frame["sample"].replace({one: other, other: one})
        )
        return _kinds_of_samples(frame, scores)
    first, second = swap.replicates
    at_one = own & (frame["sample"] == one) & (frame["replicate"] == first)
    at_other = own & (frame["sample"] == other) & (frame["replicate"] == second)
    for rows, name, replicate in ((at_one, other, second), (at_other, one, first)):
        frame.loc[rows, "sample"] = name
        frame.loc[rows, "replicate"] = replicate
    return _kinds_of_samples(frame, scores)


def _kinds_of_samples(frame: pd.DataFrame, scores: pd.DataFrame) -> pd.DataFrame:
    """A reference stays one under whatever code it stands."""
    if "kind" not in scores:
        return frame
    kinds = scores.drop_duplicates("sample").set_index("sample")["kind"]
    return frame.assign(kind=kinds.reindex(frame["sample"]).to_numpy())


def _relabelled(
    frame: pd.DataFrame, scores: pd.DataFrame, assessor: str, *, donor: str, by: int = 0
) -> pd.DataFrame:
    """The rows of an assessor under what stood `by` places on along the tray of the donor."""
    glasses = scores.drop_duplicates(["assessor", "position"]).sort_values("position")
    tray = glasses[glasses["assessor"] == donor]
    own = np.flatnonzero((scores["assessor"] == assessor).to_numpy())
    places = tray["position"].to_numpy()
    at: Codes = np.searchsorted(places, scores["position"].to_numpy()[own])
    found = tray.iloc[(np.minimum(at, len(tray) - 1) + by) % len(tray)]
    frame = frame.copy()
    for name in _OF_A_GLASS:
        values = frame[name].to_numpy(copy=True)
        values[own] = found[name].to_numpy()
        frame[name] = values
    return frame


_OF_A_GLASS = ("sample", "replicate", "kind")

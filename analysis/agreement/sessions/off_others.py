"""How far each person stood off the others, session by session, over all glasses."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from ...array_types import Vector
from ...frames import TEST_KINDS

_TAILS = 4.0
"""Degrees of freedom of the weight: a glass far off its person's usual counts little."""
_TO_SD = 1.4826
_LEAST_SD = 1.0
"""Points below which distances are taken for equal."""


def off_the_others(scores: pd.DataFrame) -> Mapping[str, tuple[float, ...]]:
    """Return by person the mean distance from the others on the same glasses, a value a session.

    Parameters
    ----------
    scores
        Checked scores of several sessions on the 0-100 line. References stand out; a glass that
        one person alone scored says nothing.

    Returns
    -------
    mapping
        Points above or below the others, the oldest session first; only sessions that a person
        sat in.

    Notes
    -----
    A glass with the standardised distance e from its person's median weighs ``5 / (4 + e^2)``
    (the weight of Student's t with four degrees of freedom), so that one exchanged glass moves
    no session. Nothing is called a movement by it: it is what there is to look at.

    Examples
    --------
    >>> rows = [(f"S{t}", pd.Timestamp("2026-01-06") + pd.Timedelta(weeks=t), who, "house", "test",
    ...          "smoke", y) for t in range(2) for who, y in (("A", 50.0 + 10 * t), ("B", 40.0))]
    >>> names = ["session", "held_on", "assessor", "sample", "kind", "descriptor", "score"]
    >>> off_the_others(pd.DataFrame(rows, columns=names))
    {'A': (10.0, 20.0), 'B': (-10.0, -20.0)}
    """
    tests = scores[scores["kind"].isin(TEST_KINDS)]
    glass = ["session", "descriptor", "sample"]
    own = tests.groupby([*glass, "assessor"], sort=True)["score"].mean().rename("own").reset_index()
    beside = own.groupby(glass)["own"]
    others = beside.transform("count") - 1
    own["off"] = own["own"] - (beside.transform("sum") - own["own"]) / others.where(others > 0)
    known = own[own["off"].notna()]
    days = tests.groupby("session", sort=True)["held_on"].min()
    order = days.reset_index().sort_values(["held_on", "session"], na_position="last")["session"]
    return {
        str(who): _by_session(theirs, list(order))
        for who, theirs in known.groupby("assessor", sort=True)
    }


def _by_session(theirs: pd.DataFrame, order: list[str]) -> tuple[float, ...]:
    off = theirs["off"].to_numpy(dtype=np.float64)
    weight = _weights(off)
    found = []
    for session in order:
        here = (theirs["session"] == session).to_numpy()
        if here.any():
            found.append(float(np.average(off[here], weights=weight[here])))
    return tuple(found)


def _weights(off: Vector) -> Vector:
    away = off - np.median(off)
    sd = max(_TO_SD * float(np.median(np.abs(away))), _LEAST_SD)
    weights: Vector = (_TAILS + 1.0) / (_TAILS + (away / sd) ** 2)
    return weights

"""Which samples stood in one place only, over all the scores that a profile reads."""

from __future__ import annotations

import pandas as pd

from ...frames import TEST_KINDS, usable
from ...profile.one_order import OneOrder
from ..one_session.in_one_order import sessions_in_one_order


def only_in_one_order(scores: pd.DataFrame) -> OneOrder | None:
    """Find the samples nosed only where everybody had the glasses in one order.

    Choose it beside a profile: nothing in such scores parts a glass's place from its cask.

    Parameters
    ----------
    scores
        A scores frame (see :mod:`analysis`) of any number of sessions.

    Returns
    -------
    OneOrder or None
        None where every sample stood in several places, or no places are on record.

    Examples
    --------
    >>> rows = [("S1", who, sample, 1, place, "smoke", 10.0 * place)
    ...         for who in "AB" for place, sample in enumerate("xyz", 1)]
    >>> names = ["session", "assessor", "sample", "replicate", "position", "descriptor", "score"]
    >>> only_in_one_order(pd.DataFrame(rows, columns=names))
    OneOrder(n_samples=3, sessions=('S1',))
    """
    return one_order_among(usable(scores).scores)


def one_order_among(used: pd.DataFrame) -> OneOrder | None:
    """Find them among scores that may be computed with."""
    tests = used[used["kind"].isin(TEST_KINDS)]
    one = sessions_in_one_order(tests)
    if not one:
        return None
    nosed = tests[["session", "sample"]].drop_duplicates()
    here = nosed["session"].astype(str).isin(one)
    only = here.groupby(nosed["sample"]).all()
    samples = only.index[only]
    if samples.empty:
        return None
    where = nosed.loc[nosed["sample"].isin(samples), "session"].astype(str)
    return OneOrder(len(samples), tuple(sorted(where.unique())))

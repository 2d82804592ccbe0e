"""Which glasses of a session came in one order for everybody: chains of trays between them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import scipy.sparse
from scipy.special import gammaln

from ...array_types import Codes, Flags, Vector
from ...frames import TEST_KINDS

GLASS = ["session", "assessor", "sample", "replicate"]
BY_CHANCE = 0.01
"""A cut between classes stands where free orders would make it more seldom than that."""
ON_RECORD = 0.9
"""Share of the glasses whose place must be known."""


def sessions_in_one_order(scores: pd.DataFrame) -> frozenset[str]:
    """Return the sessions in which everybody had the test glasses in the same order."""
    glasses = scores.drop_duplicates(GLASS)
    # Names take far longer to lay out than numbers in their order.
    coded = {name: pd.factorize(glasses[name], sort=True)[0] for name in ("assessor", "sample")}
    coded["session"], sessions = pd.factorize(glasses["session"])
    coded["replicate"] = pd.factorize(glasses["replicate"], sort=True)[0]
    position = glasses["position"].to_numpy(dtype=np.float64)
    tests = glasses["kind"].isin(TEST_KINDS).to_numpy()
    order = np.argsort(coded["session"], kind="stable")
    ends = np.cumsum(np.bincount(coded["session"]))[:-1]
    found = set()
    for name, rows in zip(sessions, np.split(order, ends), strict=True):
        sample, replicate, who = (coded[each][rows] for each in ("sample", "replicate", "assessor"))
        if _arranged(sample, replicate, who, position[rows], tests[rows])[1]:
            found.add(str(name))
    return frozenset(found)


def classes_of(glasses: pd.DataFrame) -> tuple[Codes, bool]:
    """Class of each glass of one session, rising, and whether each is a class by itself.

    Two glasses are of one class where a chain of trays leads from each to the other: then
    neither came before the other everywhere.
    """
    samples, replicates = (
        pd.factorize(glasses[name], sort=True)[0] for name in ("sample", "replicate")
    )
    trays = pd.factorize(glasses["assessor"])[0]
    position = glasses["position"].to_numpy(dtype=np.float64)
    tests = glasses["kind"].isin(TEST_KINDS).to_numpy()
    return _arranged(samples, replicates, trays, position, tests)


def _arranged(
    samples: Codes, replicates: Codes, trays: Codes, position: Vector, tests: Flags
) -> tuple[Codes, bool]:
    """The same from codes; samples and replicates in their order."""
    found = np.zeros(len(tests), dtype=np.intp)
    rows = np.flatnonzero(tests & ~np.isnan(position))
    if not len(rows):
        return found, False
    tray, place = trays[rows], position[rows]
    pairs = samples[rows] * (int(replicates.max()) + 1) + replicates[rows]
    which = np.unique(pairs, return_inverse=True)[1]
    order = np.lexsort((place, tray))
    same = tray[order[1:]] == tray[order[:-1]]
    n = int(which.max()) + 1
    edges = (which[order[:-1]][same], which[order[1:]][same])
    graph = scipy.sparse.coo_matrix((np.ones(len(edges[0])), edges), shape=(n, n))
    count, label = scipy.sparse.csgraph.connected_components(
        graph, directed=True, connection="strong"
    )
    rank = np.bincount(label[which], place) / np.bincount(label[which])
    rising = np.argsort(np.argsort(rank))[label[which]]
    several = len(rows) > n
    alone = bool(count == n > 1 and several and len(rows) >= ON_RECORD * tests.sum())
    found[rows] = rising if alone else _beyond_chance(rising, tray, which)
    return found, alone


def _beyond_chance(rising: Codes, tray: Codes, which: Codes) -> Codes:
    """Put classes together again that a free order would have parted about as well.

    A glass that stands on two trays only is the first on both easily enough. On a tray with l
    glasses before a cut and u behind it, a free order keeps them so in 1 of (l + u over l) cases;
    and as many glasses as stand before it could have been any of all.
    """
    trays = np.unique(tray, return_inverse=True)[1]
    glasses = rising[np.unique(which, return_index=True)[1]]
    cuts: list[int] = []
    waiting = [(0, int(rising.max()) + 1)]
    while waiting:
        low, high = waiting.pop()
        here = (rising >= low) & (rising < high)
        among = glasses[(glasses >= low) & (glasses < high)]
        told = [_told(rising[here], trays[here], among, cut) for cut in range(low + 1, high)]
        if told and max(told) >= -np.log(BY_CHANCE):
            cut = low + 1 + int(np.argmax(told))
            cuts.append(cut)
            waiting += [(low, cut), (cut, high)]
    return np.searchsorted(np.sort(cuts), rising, side="right").astype(np.intp)


def _told(rising: Codes, trays: Codes, glasses: Codes, cut: int) -> float:
    """How seldom a free order keeps what is before a cut there, beside any as many, in logs."""
    size = np.bincount(trays)
    below = np.bincount(trays[rising < cut], minlength=len(size))
    chosen = _ways(np.array(len(glasses)), np.array((glasses < cut).sum()))
    return float(_ways(size, below).sum() - chosen.sum())


def _ways(all_: Codes, some: Codes) -> Vector:
    """Logarithm of how many ways there are to choose some of all."""
    ways: Vector = gammaln(all_ + 1) - gammaln(some + 1) - gammaln(all_ - some + 1)
    return ways

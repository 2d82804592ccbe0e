"""By how much more or less years took from every cask, and rounds of gauging read low.

A warm year takes more from all casks of a store. It is told from what casks lost between gauges
that span it, beside what they lose in a usual year: first for the whole house, then what each
store's years differ by from that. A round of gauging by one way may read low as a whole: that goes
with the gauges of a year, and comes back with the next round.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..array_types import Codes, Flags, Floats
from .gauge_ways import GaugeWay

if TYPE_CHECKING:
    from scipy.sparse import csr_array

    from .neighbours import Intervals

_YEARS_DIFFER, _STORES_YEARS_DIFFER = 0.2, 0.15
"""How far a year's loss is off in the house, and in a store beside that, before it is seen."""
_ROUNDS_DIFFER = 0.005
"""How far a round of gauging reads low or high as a whole, before it is seen."""
_BOUND = 1.345
"""Huber's: beyond so many standard deviations a cask says no more."""
_TURNS = 4
_LEAST_PACE, _MOST_PACE = 0.1, 5.0


@dataclass(frozen=True, eq=False)
class Paces:
    """What calendar years took beside a usual one, by store, and what rounds read low by.

    Attributes
    ----------
    first
        The first calendar year.
    pace, covariance
        Of each store and year, usual 1, shape (stores, years); error, shape (stores, years, years).
    low, low_variance
        By way of gauging and year: logarithm of how much too little is read; error.
    """

    first: int
    pace: Floats
    covariance: Floats
    low: Floats
    low_variance: Floats

    @classmethod
    def none(cls, n_stores: int, first: int = 0, years: int = 1) -> Paces:
        """Return what is held before anything is seen: all years usual, rounds that may be off.

        That years differ is held of the years that are named alone; days outside them count as
        usual ones without an error.
        """
        apart = np.eye(years) * (_YEARS_DIFFER**2 + _STORES_YEARS_DIFFER**2)
        low = np.full((len(GaugeWay), years), _ROUNDS_DIFFER**2)
        low[GaugeWay.FILLED] = 0.0
        pace = np.ones((n_stores, years))
        return cls(first, pace, np.tile(apart, (n_stores, 1, 1)), np.zeros_like(low), low)

    def took(self, store: Codes, begins: Floats, ends: Floats) -> Floats:
        """Usual years that the time between two days counts as, in a store."""
        return self._until(store, ends) - self._until(store, begins)

    def took_variance(self, store: Codes, begins: Floats, ends: Floats) -> Floats:
        """Variance of `took`; days outside the years that were learnt from add nothing to it."""
        found = np.zeros(len(store))
        lies = begins[:, None] - self.first, ends[:, None] - self.first
        years = np.arange(self.pace.shape[1])
        spent = np.clip(np.minimum(lies[1], years + 1) - np.maximum(lies[0], years), 0.0, None)
        for each in np.unique(store):
            here = store == each
            found[here] = ((spent[here] @ self.covariance[each]) * spent[here]).sum(axis=1)
        return found

    def read_low(self, method: Codes, on: Floats) -> Floats:
        """By how much a gauge of that day is held to read low."""
        found: Floats = self.low[method, self._year(on)]
        return found

    def read_low_variance(self, method: Codes, on: Floats) -> Floats:
        """Variance of `read_low`."""
        found: Floats = self.low_variance[method, self._year(on)]
        return found

    def _year(self, on: Floats) -> Codes:
        year = np.floor(on).astype(np.intp) - self.first
        found: Codes = np.clip(year, 0, self.pace.shape[1] - 1)
        return found

    def _until(self, store: Codes, on: Floats) -> Floats:
        sums = np.concatenate([np.zeros((len(self.pace), 1)), np.cumsum(self.pace, axis=1)], axis=1)
        year = self._year(on)
        found: Floats = sums[store, year] + self.pace[store, year] * (on - self.first - year)
        return found


def paces_of(found: Intervals, gone: Floats, usual: Floats, noise: Floats, n_stores: int) -> Paces:
    """Tell from what went between gauges what years took, and what rounds of gauging read low by.

    Parameters
    ----------
    found
        The pairs of gauges.
    gone
        What went of each, its first soak apart.
    usual
        What its cask would lose in a usual year, by its store and size.
    noise
        Variance of `gone` were all years usual.
    n_stores
        How many stores there are.

    Notes
    -----
    Regression by Huber's bounded weights with a normal prior about usual years, twice: with one
    column a year and one a round for the house, then with one a year for what each store is off.
    """
    from scipy.sparse import hstack

    first = int(np.floor(found.begins.min()))
    years = int(np.floor(found.ends.max())) - first + 1
    ways = len(GaugeWay)
    spent = _spent(found, usual, first, years)
    rounds = _rounds(found, first, years, ways)
    off = gone - usual * (found.ends - found.begins)
    prior = np.repeat([_YEARS_DIFFER**2, _ROUNDS_DIFFER**2], [years, years * ways])
    prior[years : 2 * years] = 1e-12
    design = hstack([spent, rounds], format="csr")
    seen, error = _bounded(design, off, noise, prior)
    left = off - design @ seen
    pace, covariance = np.ones((n_stores, years)) + seen[:years], []
    for store in range(n_stores):
        here: Flags = found.store == store
        own = np.full(years, _STORES_YEARS_DIFFER**2)
        apart, doubt = _bounded(spent[here], left[here], noise[here], own)
        pace[store] += apart
        covariance.append(doubt + error[:years, :years])
    return Paces(
        first=first,
        pace=np.clip(pace, _LEAST_PACE, _MOST_PACE),
        covariance=np.array(covariance),
        low=seen[years:].reshape(ways, years),
        low_variance=np.diag(error)[years:].reshape(ways, years).copy(),
    )


def _spent(found: Intervals, usual: Floats, first: int, years: int) -> csr_array:
    """What each pair's cask would lose in the part of each calendar year between its gauges."""
    from scipy.sparse import csr_array

    begins, ends = found.begins - first, found.ends - first
    start = np.floor(begins).astype(np.intp)
    most = int((np.floor(ends) - start).max()) + 1
    at = start[:, None] + np.arange(most)
    part = np.minimum(ends[:, None], at + 1.0) - np.maximum(begins[:, None], at)
    row, column = np.nonzero(part > 0.0)
    values = part[row, column] * usual[row]
    return csr_array((values, (row, at[row, column])), shape=(len(begins), years))


def _rounds(found: Intervals, first: int, years: int, ways: int) -> csr_array:
    """Which round each pair ends with, less which it begins with."""
    from scipy.sparse import csr_array

    n = len(found.begins)
    year = np.floor(np.concatenate([found.ends, found.begins])).astype(np.intp) - first
    column = np.concatenate([found.method_after, found.method_before]) * years + year
    row, sign = np.tile(np.arange(n), 2), np.repeat([1.0, -1.0], n)
    return csr_array((sign, (row, column)), shape=(n, ways * years))


def _bounded(design: csr_array, off: Floats, noise: Floats, prior: Floats) -> tuple[Floats, Floats]:
    """Estimates with a prior of variance *prior* about 0, and their covariance."""
    from scipy.sparse import diags_array

    seen, inverse = np.zeros(design.shape[1]), np.diag(prior)
    if not len(off):
        return seen, inverse
    for _ in range(_TURNS):
        apart = np.abs(off - design @ seen) / np.sqrt(noise)
        weight = np.minimum(1.0, _BOUND / np.maximum(apart, 1e-9)) / noise
        weighed = design.T @ diags_array(weight)
        inverse = np.linalg.inv((weighed @ design).toarray() + np.diag(1.0 / prior))
        seen = inverse @ (weighed @ off)
    return seen, inverse

"""What the shape of a house makes of each cask: the one home for it beside the normal.

A cask believed to lie at a normal is bent: ``x = mean + sd T(z)`` with z standard normal and T the
monotone map to what the spread of the house and the cask's glasses make of it together. Of a cask
nosed often T is nearly z; of one never nosed it is the spread of the house.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import scipy.special

from ..array_types import Codes, Flags, Floats, Ints, Matrix, Stack, Vector
from .posterior import Posterior
from .shapes import (
    FEWEST,
    GRID,
    STANDING_OUT,
    STANDS_OUT,
    USUAL,
    likely,
    spread_of,
    stretched,
)

Lines = tuple[Vector, Vector]
Rows = Codes | slice
"""Some of the casks."""

_KNOTS: Vector = np.linspace(-4.5, 4.5, 37)
_NODES: Vector = np.linspace(-5.0, 5.0, 41)
_WEIGHTS: Vector = np.exp(-0.5 * _NODES**2) / np.exp(-0.5 * _NODES**2).sum()
_A_UNIT = 1.0 / float(_KNOTS[1] - _KNOTS[0])
_LEAST, _MOST = 0.02, 0.98
"""Shares known below and above which a cask counts as of the nearer; above it is not bent."""
_AT_ONCE = 60_000
"""Numbers bent at once, as many as stay near the processor."""
_LEFT, _RIGHT = 4, 32
"""Knots 3.5 below and above the middle: beyond either lies a share of .00023."""


@dataclass(frozen=True, eq=False)
class Bends:
    """Where casks lie in the spread of their house.

    Attributes
    ----------
    place, known
        By how many standard deviations between casks the normal holds each one to be off what is
        foretold of it, and the share of that variance that its glasses took away; 0 and 0 of
        casks without one, shape (casks, notes).
    sd
        Of each cask's own error when it was nosed, points; infinite of casks without a glass.
    spread, nosed
        Of the house on each note, and the same with some that stand out, as casks that were nosed
        may; (notes, grid of `shapes`).
    """

    place: Matrix
    known: Matrix
    sd: Matrix
    spread: Matrix
    nosed: Matrix

    def only(self, rows: Codes) -> Bends:
        """Some of the casks."""
        return replace(self, place=self.place[rows], known=self.known[rows], sd=self.sd[rows])

    def moved(self, sd: Matrix, rows: Rows = slice(None)) -> tuple[Matrix, Matrix]:
        """By how many points each cask is held to lie further up, and its sd over the normal's.

        Parameters
        ----------
        sd
            Of the casks as they lie today, points; what the years added is bent by nothing.
        rows
            Which of the casks, one as often as it is asked about; each of them once by default.
        """
        shift, times = (each[rows] for each in self.moments)
        then = np.minimum(sd, self.sd[rows])
        return shift * then, np.sqrt(1.0 + (times**2 - 1.0) * (then / sd) ** 2)

    def shaped(self, mean: Matrix, own: Stack, rows: Rows = slice(None)) -> tuple[Matrix, Stack]:
        """Means and own covariances of the casks as the spread of their house has them.

        Parameters
        ----------
        mean, own
            Of the casks as they lie today, points, (n, notes) and (n, notes, notes).
        rows
            As in :meth:`moved`.
        """
        shift, times = self.moved(np.sqrt(np.maximum(np.einsum("idd->id", own), 1e-12)), rows)
        return mean + shift, own * times[:, :, None] * times[:, None, :]

    @cached_property
    def moments(self) -> tuple[Matrix, Matrix]:
        """By how many of its own sd each cask is held to lie further up, and its sd over that."""
        shift, times = np.zeros_like(self.place), np.ones_like(self.place)
        for note in range(len(self.spread)):
            for rows, density in self._densities(note):
                mean, sd = _mean_and_sd(density)
                own = np.sqrt(1.0 - self.known[rows, note])
                shift[rows, note] = (mean - self.place[rows, note]) / own
                times[rows, note] = sd / own
        return shift, times

    @cached_property
    def _lines(self) -> Lines:
        """T of each cask at the knots, of mean 0 and variance 1, and its rise to the next."""
        found = np.broadcast_to(_KNOTS, (*self.place.shape, len(_KNOTS))).copy()
        for note in range(len(self.spread)):
            for rows, density in self._densities(note):
                mean, sd = _mean_and_sd(density)
                found[rows, note] = (_quantiles(density) - mean[:, None]) / sd[:, None]
        rise = np.diff(found, axis=2, append=found[:, :, -1:])
        return found.ravel(), rise.ravel()

    def _densities(self, note: int) -> list[tuple[Codes, Matrix]]:
        """What is believed of the casks that are bent: those without a glass share one."""
        known = self.known[:, note]
        never, nosed = np.flatnonzero(known <= 0.0), np.flatnonzero((known > 0.0) & (known < _MOST))
        found = [(never, self.spread[[note]])] if len(never) else []
        if len(nosed):
            density = self.nosed[note] * likely(self.place[nosed, note], known[nosed])
            total = density.sum(axis=1, keepdims=True)
            some = total[:, 0] > 1e-200
            found.append((nosed[some], density[some] / total[some]))
        return found

    def bent(self, normal: Floats, share: Floats | None = None) -> Floats:
        """Standard normals as the casks are spread, (draws, casks, notes), mean 0 and variance 1.

        Parameters
        ----------
        share
            Of the sd, as far as a session moves what is believed, (casks, notes): the mean after
            few glasses moves nearly as a normal does.
        """
        found = np.array(normal, dtype=np.float64)
        each = max(1, _AT_ONCE // max(self.place.size, 1))
        for start in range(0, len(found), each):
            self._bend(found[start : start + each], share)
        return found

    def _bend(self, normal: Floats, share: Floats | None) -> None:
        place = np.arange(self.place.size).reshape(self.place.shape)
        found = _through(self._lines, place, normal)
        normal[:] = found if share is None else normal + share**3 * (found - normal)

    def normal_at(self, places: Floats, rows: Rows = slice(None)) -> Floats:
        """The standard normals that are bent to some places, (..., n, notes).

        Parameters
        ----------
        rows
            As in :meth:`moved`.
        """
        found = np.zeros(places.shape, dtype=np.int8)
        for table in self._by_knot[1:-1]:
            found += (places >= table[rows]).view(np.int8)
        left = found.astype(np.intp)
        at = np.arange(self.place.size).reshape(self.place.shape)[rows] * len(_KNOTS) + left
        tables, rise = self._lines
        step = places - tables.take(at)
        normal: Floats = _KNOTS[left] + step / np.maximum(rise.take(at) * _A_UNIT, 1e-12)
        return normal

    def beyond(self, low: Matrix, high: Matrix, rows: Rows = slice(None)) -> Flags:
        """Where less than .00024 of a cask can lie between two places, (n, notes)."""
        least, most = (self._by_knot[knot][rows] for knot in (_LEFT, _RIGHT))
        found: Flags = (low >= most) | (high <= least)
        return found

    @cached_property
    def _by_knot(self) -> Stack:
        """T of each cask at the knots, knot by knot, (knots, casks, notes)."""
        tables = self._lines[0].reshape(*self.place.shape, len(_KNOTS))
        return np.ascontiguousarray(np.moveaxis(tables, 2, 0))

    def below(self, shares: Matrix, cut: Vector) -> Vector:
        """How much more often, and further, than a normal each cask lies below a cut; 1 at one.

        Parameters
        ----------
        shares
            Of a cask's sd in the direction asked about, the part of each note, with its sign,
            (casks, notes): what is odd of several notes together shows the less.
        cut
            In such sds from the mean, shape (casks,).

        Returns
        -------
        array of shape (casks,)
            ``E max(cut - t, 0)`` over that of a standard normal.
        """
        unnosed: Flags = np.all(self.known <= 0.0, axis=1, keepdims=True)
        usual = self._along(shares, cut, np.where(unnosed, np.sqrt(USUAL), 1.0))
        out = self._along(shares, cut, np.where(unnosed, np.sqrt(STANDING_OUT), 1.0))
        bent = (1.0 - STANDS_OUT) * usual + STANDS_OUT * out
        plain = np.maximum(cut[:, None] - _NODES, 0.0) @ _WEIGHTS
        found: Vector = np.clip(bent / np.maximum(plain, 1e-12), 0.1, 1e6)
        return found

    def _along(self, shares: Matrix, cut: Vector, times: Matrix) -> Vector:
        """``E max(cut - t, 0)`` where t goes along the notes by their shares."""
        at = np.broadcast_to(_NODES * times, (len(cut), len(_NODES)))
        t = at.copy()
        for note, share in enumerate(shares.T):
            side = np.where(share < 0.0, -1.0, 1.0)[:, None]
            place = (np.arange(len(cut)) * len(self.spread) + note)[:, None]
            bent = _through(self._lines, place, at * side) * side
            t += np.abs(share[:, None]) ** 3 * (bent - at)
        found: Vector = np.maximum(cut[:, None] - t, 0.0) @ _WEIGHTS
        return found


def _through(lines: Lines, place: Ints, normal: Floats) -> Floats:
    """Standard normals through the tables at some places, straight on beyond the knots."""
    tables, rise = lines
    at: Floats = (normal - _KNOTS[0]) * _A_UNIT
    left = np.clip(at.astype(np.int32), 0, len(_KNOTS) - 2)
    at -= left
    left += (len(_KNOTS) * place).astype(np.int32)
    at *= rise.take(left)
    at += tables.take(left)
    return at


def _mean_and_sd(density: Matrix) -> tuple[Vector, Vector]:
    """Of each density on `GRID`, to the last digit whatever others stand beside it."""
    mean = (density * GRID).sum(axis=1)
    variance = (density * GRID**2).sum(axis=1) - mean**2
    return mean, np.sqrt(np.maximum(variance, 1e-6))


def _quantiles(density: Matrix) -> Matrix:
    """What lies at the knots of a normal in each of some densities on `GRID`."""
    n, width = density.shape
    first = np.arange(n)[:, None]
    below = (np.cumsum(density, axis=1) - 0.5 * density).clip(0.0, 1.0)
    # Row after row they rise from each whole number to the next: one search serves them all.
    asked = scipy.special.ndtr(_KNOTS)
    at = np.searchsorted((below + first).ravel(), (asked + first).ravel()).reshape(n, -1)
    right = np.clip(at - width * first, 1, width - 1)
    low, high = (np.take_along_axis(below, k, axis=1) for k in (right - 1, right))
    part = np.clip((asked - low) / np.maximum(high - low, 1e-15), 0.0, 1.0)
    found: Matrix = GRID[right - 1] + part * (GRID[right] - GRID[right - 1])
    return found


def bends_of(
    held: Posterior | None,
    samples: Sequence[str],
    notes: Sequence[str],
    house: Sequence[str] | None = None,
) -> Bends | None:
    """Lay some casks into the spread of their house; None where too few casks tell of it.

    Parameters
    ----------
    held
        What the samples were when they were nosed, on whatever day the casks are asked about.
    samples
        The draw that stands for each cask; none of that name: nobody nosed it.
    house
        The same of the casks that tell of the spread: all that are asked about by default.
    """
    held = held if held is None or held.as_nosed is None else held.as_nosed
    if held is None or held.foretold is None or not set(notes) <= set(held.descriptors):
        return None
    at = [held.descriptors.index(note) for note in notes]
    row = {name: k for k, name in enumerate(held.samples)}
    rows, telling = (
        np.array([row.get(sample, -1) for sample in some], dtype=np.intp)
        for some in (samples, samples if house is None else house)
    )
    between = np.maximum(np.diagonal(held.between)[at], 1e-9)
    own = np.diagonal(held.covariance, axis1=1, axis2=2)[:, at]
    share = np.clip(1.0 - own / between, _LEAST, 0.999)
    place = (held.mean[:, at] - held.foretold[:, at]) / np.sqrt(between)
    told = np.isfinite(place) & np.isfinite(share)
    of = [telling[(telling >= 0) & told[telling, k]] for k in range(len(notes))]
    if max((len(some) for some in of), default=0) < FEWEST:
        return None
    spread = [spread_of(place[some, k], share[some, k]) for k, some in enumerate(of)]
    out = [stretched(each) for each in spread]
    heard = (rows >= 0)[:, None] & told[rows]
    place, share = np.where(heard, place[rows], 0.0), np.where(heard, share[rows], 0.0)
    sd = np.where(heard, np.sqrt(own)[rows], np.inf)
    return Bends(place, share, sd, np.array(spread), np.array(out))

"""Casks that nobody nosed in the model of one descriptor: weights, means and variances."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ..array_types import Codes, Matrix, Stack, Vector
from .note_model import NoteModel
from .terms import Points


class UnnosedWay:
    """One way of growing, with what it says of some casks that were never nosed.

    The same as `NoteModel.foretell` of such casks, but reckoned at their present age alone: with
    ``x_i`` the weights of the coefficients in the note, their error is ``x_i' C x_i``.

    Attributes
    ----------
    mean
        Of each cask about the centre of the note.
    own
        Variance of what is particular to each cask, times the weight of the way.
    """

    def __init__(self, note: NoteModel, place: int, points: Points, traits: Stack) -> None:
        part = note.ways[place]
        self.weight, solution = part.weight, part.solution
        bases = note.terms.bases(part.way, points.age_years, points.phenol_ppm)
        self.x: Matrix = np.einsum("il,ilm->im", bases, traits)
        self.mean: Vector = self.x @ solution.coefficients
        wider = self.weight * note.inflation**2
        self.spread: Matrix = self.x @ (wider * solution.covariance)
        particular = solution.own_prior + note.terms.unseen(points, solution.log_variances)
        self.own: Vector = wider * (bases**2 * particular).sum(axis=1)

    def covariance(self, mean: Vector, marks: Codes) -> Matrix:
        """What two casks share, all by `marks`; `mean` is that over the ways."""
        off = self.mean - mean
        found: Matrix = self.spread @ self.x[marks].T + self.weight * np.outer(off, off[marks])
        return found

    def variance(self, mean: Vector) -> Vector:
        """The same of each cask with itself."""
        found: Vector = np.einsum("im,im->i", self.spread, self.x)
        return found + self.weight * (self.mean - mean) ** 2


def ways_of(note: NoteModel, points: Points) -> tuple[UnnosedWay, ...]:
    """Every way of growing of a note, for casks never nosed."""
    traits = note.terms.traits(points)
    return tuple(UnnosedWay(note, place, points, traits) for place in range(len(note.ways)))


def mean_over(parts: Sequence[UnnosedWay]) -> Vector:
    """Mean over the ways, about the centre of the note."""
    found: Vector = np.sum([part.weight * part.mean for part in parts], axis=0)
    return found


def foretell_unnosed(note: NoteModel, points: Points) -> tuple[Vector, Vector]:
    """Mean and standard deviation of the note of casks never nosed, at the points' ages."""
    parts = ways_of(note, points)
    mean = mean_over(parts)
    variance = np.sum([part.own + part.variance(mean) for part in parts], axis=0)
    return note.centre + mean, np.sqrt(variance)

"""How the errors of casks that are foretold go together, from cask to cask and note to note.

Foretold casks lean on the same coefficients: if their wood gives less than is believed, it gives
less to all of them, and no number of casks averages that out. With ``x_i`` the weights of the
coefficients in cask i, the covariance of two casks is ``x_i C x_k'`` averaged over the ways of
growing, and what each way puts its mean off. It is held as a few sources a note, ``F F'``, taken
from casks spread over the stock (Williams & Seeger 2001, Nystroem's method); what these leave
out counts as the cask's own, so that the variance of each cask is kept whole.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Matrix, Stack, Vector
from .covariates import why_not
from .fits import Fits
from .note_model import NoteModel
from .terms import Points
from .together import together
from .unnosed import mean_over, ways_of

SOURCES = 24
"""With 8 the spread of ten casks of one wood came out up to 14 % too small, with 16 up to 4 %."""
LANDMARKS = 100
"""Casks that the sources are taken from."""


@dataclass(frozen=True)
class JointForetold:
    """Foretold casks and notes together, the error that all readings share not among it.

    Attributes
    ----------
    fillings, descriptors
        Names of rows and columns.
    mean
        What is foretold, not held to the line, shape (fillings, descriptors).
    own
        Covariance of what is each cask's own over the descriptors, shape (fillings,
        descriptors, descriptors).
    shared
        Shape (fillings, descriptors, sources): the error of a filling on descriptor d has the
        part ``shared[i, d] @ g_d``, `g_d` standard normal and the same for all fillings.
    """

    fillings: tuple[str, ...]
    descriptors: tuple[str, ...]
    mean: Matrix
    own: Stack
    shared: Stack


def joint_foretold(fits: Fits, stock: pd.DataFrame) -> JointForetold | None:
    """Foretell some fillings, all notes together; None where none can be foretold.

    Parameters
    ----------
    fits
        The models.
    stock
        A checked draws frame of the fillings to be foretold.
    """
    usable = stock[why_not(stock).isna()].reset_index(drop=True)
    if usable.empty or not fits.fits:
        return None
    rows = fits.stock(usable)
    notes = [fit.note for fit in fits.fits]
    each = [_of_note(note, Points.of(rows, note.terms.levels)) for note in notes]
    sd = np.sqrt(np.column_stack([one.own for one in each]))
    most = max(one.shared.shape[1] for one in each)
    wide = [np.pad(one.shared, ((0, 0), (0, most - one.shared.shape[1]))) for one in each]
    return JointForetold(
        fillings=tuple(rows["filling"]),
        descriptors=tuple(note.descriptor for note in notes),
        mean=np.column_stack([one.mean for one in each]),
        own=sd[:, :, None] * together(fits.fits) * sd[:, None, :],
        shared=np.stack(wide, axis=1),
    )


@dataclass(frozen=True)
class _OneNote:
    """Means, variances of the casks' own errors, and the sources of what they share."""

    mean: Vector
    own: Vector
    shared: Matrix


def _of_note(note: NoteModel, points: Points) -> _OneNote:
    marks = np.unique(np.linspace(0, points.n - 1, min(points.n, LANDMARKS)).astype(np.intp))
    parts = ways_of(note, points)
    mean = mean_over(parts)
    across = np.sum([part.covariance(mean, marks) for part in parts], axis=0)
    whole = np.sum([part.variance(mean) for part in parts], axis=0)
    values, vectors = np.linalg.eigh(across[marks])
    kept = np.flatnonzero(values > 1e-9 * max(float(values[-1]), 1e-12))[-SOURCES:]
    shared: Matrix = across @ (vectors[:, kept] / np.sqrt(values[kept]))
    rest = np.maximum(whole - (shared**2).sum(axis=1), 0.0)
    own = np.sum([part.own for part in parts], axis=0)
    return _OneNote(note.centre + mean, own + rest, shared)

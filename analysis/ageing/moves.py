"""Notes moved from the draw that was nosed to another age, with the error that this adds.

What a panel found in a draw holds for the age at which it was drawn. The models of ageing say
how a note at one age goes with the same note at another: with traits ``t ~ N(m, C)`` of a cask
and ``b`` what a point of each counts at an age, a note that is x at the first age has at the
second the mean ``b1' m + k (x - b0' m)``, ``k = b0' C b1 / b0' C b0``, and the variance
``b1' C b1 - k b0' C b1``. The panel's own estimate of the draw stands for x (Jeffrey's rule): at
the age of the draw nothing is changed, further off the models count for more. Averaged over the
ways of growing and fading.

Where the models cannot speak the note stays where it is and its error grows. Past the ages that
were nosed in a wood, and for a cask whose records are wanting, the standard deviation grows each
year by what the note changes in a year elsewhere in the house. For a note without a model it is
what casks differ by, as a wood note would come to it in the middle of the time constants tried.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..array_types import Flags, Matrix, Stack, Vector
from ..influences import Fits, NoteFit
from ..influences.covariates import NEEDED, why_not
from ..influences.together import together
from .cover import Cover
from .note_move import LaidOut, NoteMove, Rows
from .settings import AgeingSettings


@dataclass(frozen=True)
class Base:
    """What the panel found, a row for each draw, on the 0-100 line but not held to it.

    Attributes
    ----------
    mean
        Shape (n, notes); missing where nothing was found.
    own
        Covariance of each draw's own error, shape (n, notes, notes).
    common
        Variance of the error that all draws share, shape (notes,).
    between
        Variance between draws of any casks, shape (notes,).
    age_years
        When drawn, shape (n,); missing for what was never nosed.
    """

    mean: Matrix
    own: Stack
    common: Vector
    between: Vector
    age_years: Vector


@dataclass(frozen=True)
class AtAges:
    """Notes at some ages: means (n, ages, notes) and own covariances (n, ages, notes, notes).

    `added` is the variance in them that is of the years since, not of the nosing, shape (n, ages,
    notes).
    """

    mean: Stack
    own: Stack
    added: Stack


class Moves:
    """Draws, or casks never nosed, whose notes can be put at any age.

    Parameters
    ----------
    fits
        The models of ageing; None where there are none at all.
    descriptors
        Notes, in the order of `base`.
    casks
        A checked draws frame, one row for each row of `base`.
    base
        What the panel found.
    """

    def __init__(
        self,
        fits: Fits | None,
        descriptors: Sequence[str],
        casks: pd.DataFrame,
        base: Base,
        settings: AgeingSettings,
    ) -> None:
        self.fits, self.base, self.casks = fits, base, casks
        self.descriptors = tuple(descriptors)
        found = {} if fits is None else {fit.note.descriptor: fit for fit in fits.fits}
        rows = casks if fits is None else _filled(fits, casks)
        laid = LaidOut(rows)
        self.full: Flags = why_not(casks).isna().to_numpy(dtype=np.bool_)
        self.notes = tuple(NoteMove.of(found.get(name), laid, self.full) for name in descriptors)
        present = [note.fit for note in self.notes if note.fit is not None]
        self.together = _correlation(present, self.notes, settings.shared)

    def at(self, ages: Matrix, rows: Rows = slice(None)) -> AtAges:
        """Put some of the casks at some ages, shape (k, ages)."""
        base = self.base
        mean, variance = base.mean[rows], np.einsum("idd->id", base.own)[rows]
        steps = [
            note.step(rows, base.age_years[rows], ages, mean[:, d], variance[:, d], between)
            for d, (note, between) in enumerate(zip(self.notes, base.between, strict=True))
        ]
        if not steps:  # of notes that nobody scored there is nothing to move
            nothing = np.empty((*np.shape(ages), 0))
            return AtAges(nothing, np.empty((*np.shape(ages), 0, 0)), nothing)
        slope = np.stack([step.slope for step in steps], axis=-1)
        variances = np.stack([step.variance for step in steps], axis=-1)
        added = np.sqrt(variances)
        own = slope[..., :, None] * np.nan_to_num(base.own[rows])[:, None] * slope[..., None, :]
        own += self.together * added[..., :, None] * added[..., None, :]
        return AtAges(np.stack([step.mean for step in steps], axis=-1), own, variances)

    def cover(self, ages: Vector) -> list[Cover]:
        """How far each cask could be moved to an age, on the note where that was least far."""
        order = tuple(Cover)
        worst = np.zeros(len(ages), dtype=np.intp)
        for note in self.notes:
            worst = np.maximum(worst, note.cover(self.full, ages))
        return [order[place] for place in worst]


def _filled(fits: Fits, casks: pd.DataFrame) -> pd.DataFrame:
    """Casks as the models take them; what is not on record counts as the middle of the house."""
    rows = fits.stock(casks)
    for name in NEEDED:
        if name not in ("wood", "make", "age_years"):
            rows[name] = rows[name].fillna(float(fits.draws[name].median()))
    return rows


def _correlation(present: Sequence[NoteFit], notes: Sequence[NoteMove], shared: float) -> Matrix:
    """How what is added to the notes goes together; a note without a model goes alone."""
    found = np.eye(len(notes))
    at = [d for d, note in enumerate(notes) if note.fit is not None]
    if present:
        found[np.ix_(at, at)] = together(present, shared)
    return found

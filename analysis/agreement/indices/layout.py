"""The scores of one descriptor in one session, laid out as assessors by samples."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
import pandas as pd
import scipy.sparse

from ...array_types import Codes, Matrix, Vector


@dataclass(frozen=True)
class ScoreLayout:
    """Scores of one descriptor by assessor and sample.

    Attributes
    ----------
    assessors, samples
        Names in sorted order; only those with a score on this descriptor.
    assessor, sample
        Code of each score, shape (n,).
    score
        The scores, shape (n,), sorted by assessor, sample and replicate.
    """

    assessors: tuple[str, ...]
    samples: tuple[str, ...]
    assessor: Codes
    sample: Codes
    score: Vector

    @classmethod
    def of(cls, scores: pd.DataFrame) -> ScoreLayout:
        """Lay out the rows of one descriptor."""
        assessor, assessors = _coded(scores["assessor"])
        sample, samples = _coded(scores["sample"])
        order = np.lexsort((scores["replicate"].to_numpy(), sample, assessor))
        return cls(
            assessors=assessors,
            samples=samples,
            assessor=assessor[order],
            sample=sample[order],
            score=scores["score"].to_numpy(dtype=np.float64)[order],
        )

    @property
    def n_assessors(self) -> int:
        """Number of assessors."""
        return len(self.assessors)

    @property
    def n_samples(self) -> int:
        """Number of samples."""
        return len(self.samples)

    @cached_property
    def cell(self) -> Codes:
        """Assessor-by-sample cell of each score, coded 0 ... over the cells in use."""
        full = self.assessor * self.n_samples + self.sample
        found: Codes = np.unique(full, return_inverse=True)[1].astype(np.intp)
        return found

    @property
    def n_cells(self) -> int:
        """Number of assessor-by-sample cells with a score."""
        return int((self.counts > 0).sum())

    @cached_property
    def free_assessors(self) -> int:
        """How many differences between assessors the common samples fix.

        One less than the assessors when all hang together through common samples; less where
        the table falls into parts.
        """
        graph = scipy.sparse.csr_matrix(self.counts > 0)
        both = scipy.sparse.bmat([[None, graph], [graph.T, None]])
        parts, _ = scipy.sparse.csgraph.connected_components(both, directed=False)
        return self.n_assessors - int(parts)

    @cached_property
    def counts(self) -> Matrix:
        """Number of scores in each cell, shape (assessors, samples)."""
        counts = np.zeros((self.n_assessors, self.n_samples))
        np.add.at(counts, (self.assessor, self.sample), 1.0)
        return counts

    @cached_property
    def means(self) -> Matrix:
        """Mean of each cell, shape (assessors, samples); NaN where nothing was scored."""
        sums = np.zeros_like(self.counts)
        np.add.at(sums, (self.assessor, self.sample), self.score)
        return np.divide(sums, self.counts, out=np.full_like(sums, np.nan), where=self.counts > 0)

    @cached_property
    def within_squares(self) -> Matrix:
        """Sum of squares of the replicates about the mean of their cell."""
        squares = np.zeros_like(self.counts)
        left = self.score - self.means[self.assessor, self.sample]
        np.add.at(squares, (self.assessor, self.sample), left**2)
        return squares

    @property
    def complete(self) -> bool:
        """Whether every assessor scored every sample."""
        return bool((self.counts > 0).all())

    @property
    def replicates(self) -> int | None:
        """Number of replicates when it is the same in every cell, else None."""
        first = self.counts.flat[0]
        return int(first) if bool((self.counts == first).all()) else None

    @property
    def replicated(self) -> bool:
        """Whether any cell holds more than one score."""
        return bool((self.counts > 1).any())

    @property
    def constant(self) -> bool:
        """Whether every score is the same."""
        return bool(np.ptp(self.score) == 0.0)

    @cached_property
    def others(self) -> Matrix:
        """Mean of each sample over all assessors but the one of the row, levels taken out."""
        return means_of_others(self.adjusted)

    @cached_property
    def adjusted(self) -> Matrix:
        """Cell means with each assessor's own level taken out, shape (assessors, samples).

        The level is that of the least-squares fit ``assessor + sample`` to the cell means, so
        an assessor who nosed only the strong glasses is not taken for one who scores high.
        """
        level = additive_levels(self.means)
        return self.means - level[:, None]


def _coded(names: pd.Series) -> tuple[Codes, tuple[str, ...]]:
    """Codes 0 ... in the order of the names, and the names."""
    codes, known = pd.factorize(names, sort=True)
    return codes.astype(np.intp), tuple(str(name) for name in known)


def layouts_of(scores: pd.DataFrame) -> Iterator[dict[str, ScoreLayout]]:
    """Lay out many sessions at once: by session, its descriptors in order of name.

    The same as :meth:`ScoreLayout.of` of each part, in a tenth of the time.
    """
    session, _ = _coded(scores["session"])
    note, notes = _coded(scores["descriptor"])
    assessor, assessors = _coded(scores["assessor"])
    sample, samples = _coded(scores["sample"])
    order = np.lexsort((scores["replicate"].to_numpy(), sample, assessor, note, session))
    score = scores["score"].to_numpy(dtype=np.float64)[order]
    session, note, assessor, sample = (codes[order] for codes in (session, note, assessor, sample))
    begins = np.flatnonzero(np.diff(session, prepend=-1) | np.diff(note, prepend=-1))
    found: dict[int, dict[str, ScoreLayout]] = {}
    for start, end in pairwise([*begins.tolist(), len(order)]):
        who, person = np.unique(assessor[start:end], return_inverse=True)
        what, glass = np.unique(sample[start:end], return_inverse=True)
        found.setdefault(int(session[start]), {})[notes[note[start]]] = ScoreLayout(
            assessors=tuple(assessors[code] for code in who),
            samples=tuple(samples[code] for code in what),
            assessor=person.astype(np.intp),
            sample=glass.astype(np.intp),
            score=score[start:end],
        )
    yield from found.values()


def means_of_others(adjusted: Matrix) -> Matrix:
    """For each assessor the mean of each sample over all the others; NaN where there is none."""
    present = ~np.isnan(adjusted)
    known = np.where(present, adjusted, 0.0)
    n = present.sum(axis=0) - present
    sums = known.sum(axis=0) - known
    found: Matrix = np.divide(sums, n, out=np.full(sums.shape, np.nan), where=n > 0)
    return found


def additive_levels(means: Matrix) -> Vector:
    """Level of each row of a table with holes, from ``row + column`` by least squares.

    Parameters
    ----------
    means
        Table, shape (rows, columns), NaN where empty.

    Returns
    -------
    numpy.ndarray
        Level of each row about their mean, shape (rows,).

    Examples
    --------
    >>> additive_levels(np.array([[1.0, 5.0, np.nan], [3.0, 7.0, 9.0]])).round(9).tolist()
    [-1.0, 1.0]
    """
    present = ~np.isnan(means)
    if present.all():
        level = means.mean(axis=1)
        centred: Vector = level - level.mean()
        return centred
    row, column = np.nonzero(present)
    design = np.zeros((len(row), sum(means.shape)))
    design[np.arange(len(row)), row] = 1.0
    design[np.arange(len(row)), means.shape[0] + column] = 1.0
    found = np.linalg.lstsq(design, means[present], rcond=None)[0][: means.shape[0]]
    levels: Vector = np.asarray(found - found.mean(), dtype=np.float64)
    return levels

"""Prediction errors of a large house: of each sample exactly, and what all share."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import scipy.sparse

from ...array_types import Matrix, Vector
from ..equations import PredictionErrors
from ..layout import sums
from ..panel_weights import PanelWeights
from ..terms import ASSESSOR, ASSESSOR_SAMPLE

if TYPE_CHECKING:
    from .moments import SparseMoments


def prediction_errors(moments: SparseMoments, panel: PanelWeights) -> PredictionErrors:
    """Variance of each sample's prediction error, and of their sum.

    The error of sample i is ``t_i x - b_i p'x`` in the unknowns: its own part and what its absorbed
    cells hold against the blocks, less the mean of all samples.
    """
    sys, lay = moments.system, moments.layout
    by_assessor, by_cell = panel.assessor, panel.cell
    given = by_cell * sys.absorbed
    by_meeting = given[lay.meeting_cell] * sys.meeting_weight
    about = panel.scale - sums(lay.meeting_sample, by_meeting * sys.on_scale, sys.n)
    table = _rows(moments, by_assessor, by_cell, by_meeting, panel.scale)
    wide = table @ moments.wide.columns
    found = moments.wide.squares(wide) - 2.0 * about * (table @ moments.mean)
    found += about**2 * moments.mean_square + _local(moments, table)
    summed = np.asarray(table.sum(axis=0)).ravel() - about.sum() * sys.mean
    alone = sums(lay.cell_sample, by_cell * given, sys.n)
    return PredictionErrors(found, float(summed @ sys.solved(summed)), alone, 0.0)


def _rows(
    moments: SparseMoments, by_assessor: Vector, by_cell: Vector, by_meeting: Vector, scale: float
) -> scipy.sparse.csr_matrix:
    """``t_i`` of each sample, samples by unknowns."""
    sys, lay, pat = moments.system, moments.layout, moments.pattern
    n, size = sys.n, pat.size
    sample = scipy.sparse.csr_matrix(
        (-by_meeting, (lay.meeting_sample, np.arange(lay.n_meetings))), shape=(n, lay.n_meetings)
    )
    everywhere = np.zeros(pat.width)
    everywhere[0] = 1.0
    there = np.flatnonzero(pat.of_assessor >= 0)
    everywhere[pat.of_assessor[there]] = math.sqrt(sys.least(ASSESSOR)) * by_assessor[there]
    explicit = np.flatnonzero(pat.explicit)
    own = math.sqrt(sys.least(ASSESSOR_SAMPLE)) * by_cell[explicit]
    border = np.tile(everywhere, (n, 1))
    border[lay.cell_sample[explicit], pat.of_cell[explicit]] += own
    left = scipy.sparse.csr_matrix((n, size))
    found = scale * sys.tau_of + sample @ sys.z
    found = found + scipy.sparse.hstack([left, scipy.sparse.csr_matrix(border)])
    return found.tocsr()


def _local(moments: SparseMoments, table: scipy.sparse.csr_matrix) -> Vector:
    """What the local unknowns of each sample's row add."""
    pat = moments.pattern
    members = pat.members
    value = _at_places(table[:, : pat.size].tocsr(), members)
    first, second = pat.pairs
    row = np.repeat(np.arange(members.shape[0]), np.diff(members.indptr))[first]
    product = value[first] * value[second] * moments.local[pat.wide_slot]
    found = sums(row, product * np.where(first == second, 1.0, 2.0), members.shape[0])
    return found + _much_nosed(moments, table)


def _much_nosed(moments: SparseMoments, table: scipy.sparse.csr_matrix) -> Vector:
    """The filling of a sample that stands in the border itself is local."""
    pat, plan = moments.pattern, moments.system.plan
    found = np.zeros(table.shape[0])
    at = np.flatnonzero(pat.much & (plan.filling >= 0))
    if len(at):
        value = np.asarray(table[at, plan.filling[at]]).ravel()
        found[at] = value**2 * moments.local[pat.diagonal[plan.filling[at]]]
    return found


def _at_places(table: scipy.sparse.csr_matrix, places: scipy.sparse.csr_matrix) -> Vector:
    """Values of a table at the places of another one, 0 where it has none."""
    width = table.shape[1]
    table.sum_duplicates()
    row = np.repeat(np.arange(table.shape[0]), np.diff(table.indptr))
    wanted = np.repeat(np.arange(places.shape[0]), np.diff(places.indptr))
    key = wanted.astype(np.int64) * width + places.indices
    known = row.astype(np.int64) * width + table.indices
    at = np.minimum(np.searchsorted(known, key), max(len(known) - 1, 0))
    found: Matrix = np.where(known[at] == key, table.data[at], 0.0)
    return found

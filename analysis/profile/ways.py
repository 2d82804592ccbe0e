"""Which way the equations of a fit are solved: one dense factor, or a sparse one with a border.

The sparse way is exact at any size, and quicker where sessions are tied by few of their samples.
Where most samples come back here and there, its factor fills up, and the dense way in single
precision costs less. Which it is can be reckoned from who was nosed when: `seconds` of both were
fitted to rounds of houses of 60 to 2,300 samples (see DEVELOPERS.md).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from ..array_types import Codes, Flags, Vector
from .equations import Equations, SecondMoments
from .layout import ModelLayout
from .moments import EXACT_UP_TO, Moments
from .parameters import FitProblem, Parameters
from .sparse.factor import Ordering
from .sparse.moments import SparseMoments
from .sparse.pattern import MANY_SESSIONS, visits_of
from .sparse.plan import plan_of
from .sparse.system import SparseSystem
from .system import System
from .terms import SAMPLE

WIDEST_BORDER = 200
"""Unknowns of a border up to which it may stand beside a sparse factor."""
_NO_MATTER = 0.01
"""Seconds of a round that nobody waits for."""
_DENSE_MEETING, _DENSE_UNKNOWN, _DENSE_EVENING = 4e-7, 1.4e-11, 1.5e-10
_SPARSE_MEETING, _SPARSE_STEP = 2.2e-6, 4e-10
"""Seconds a meeting, a cube of the samples and sessions, a cube of one assessor's sessions; a
meeting, and a step of the sparse factor."""


def equations_of(
    problem: FitProblem, now: Parameters, weight: Vector
) -> tuple[Equations, SecondMoments]:
    """The equations at some parameters and weights, and what is uncertain about their effects."""
    lay = problem.layout
    if goes_sparse(problem):
        sparse = SparseSystem(plan_of(lay, problem.terms), now.ratios, now.scale, weight)
        return sparse, SparseMoments(sparse)
    dense = System(lay, problem.covariates, now.ratios, now.scale, weight, single=problem.single)
    return dense, Moments(dense)


def goes_sparse(problem: FitProblem) -> bool:
    """Whether a fit goes the sparse way; covariates go the dense one."""
    return not problem.covariates.shape[1] and sparse_pays(problem.layout, problem.terms)


@lru_cache(maxsize=8)
def sparse_pays(layout: ModelLayout, terms: tuple[str, ...]) -> bool:
    """Whether the sparse way is to be gone: where dense random columns would be, if it is cheap."""
    g = layout.glasses
    if g.n_samples + g.n_sessions <= EXACT_UP_TO or SAMPLE not in terms:
        return False
    much = int(np.sum(visits_of(layout) > MANY_SESSIONS))
    if (much + 1) * (g.n_assessors + 1) > WIDEST_BORDER:
        return False
    dense, sparse = seconds(layout)
    return sparse <= max(dense, _NO_MATTER)


def seconds(layout: ModelLayout) -> tuple[float, float]:
    """About how long a round takes the dense way, and the sparse one, on an idle processor."""
    g, meetings = layout.glasses, layout.n_meetings
    dense = _DENSE_MEETING * meetings + _DENSE_UNKNOWN * (g.n_samples + g.n_sessions) ** 3
    dense += _DENSE_EVENING * float(np.sum(layout.block_counts**3))
    return dense, _SPARSE_MEETING * meetings + _SPARSE_STEP * steps(layout)


def steps(layout: ModelLayout) -> float:
    """Steps of the sparse factor, from a coarser one in which a whole session is one row.

    It counts for as many unknowns as the session has blocks. Beside the sessions stand samples
    that came back, and fillings of several samples.
    """
    g = layout.glasses
    visits = visits_of(layout)
    back = _numbered((visits > 1) & (visits <= MANY_SESSIONS), g.n_sessions)
    several = np.bincount(g.filling) > 1
    filling = _numbered(several, g.n_sessions + int(np.sum(back >= 0)))[g.filling]
    size = int(max(g.n_sessions - 1, back.max(), filling.max())) + 1
    first, second = _neighbours(layout, back, filling, size)
    keys = np.unique(np.maximum(first, second).astype(np.int64) * size + np.minimum(first, second))
    ordering = Ordering(keys // size, keys % size, size)
    weight = np.ones(size)
    weight[: g.n_sessions] += np.bincount(layout.block_session, minlength=g.n_sessions)
    moved = np.empty(size)
    moved[ordering.number] = weight
    height = np.add.reduceat(moved[ordering.exact_rows], ordering.exact_starts[:-1])
    people = layout.n_cells / g.n_samples
    return float(moved @ height**2) + float(np.sum(visits == 1)) * (2.0 + people) ** 2


def _numbered(wanted: Flags, first: int) -> Codes:
    """Consecutive numbers for those wanted, -1 for the others."""
    found = np.full(len(wanted), -1)
    found[wanted] = first + np.arange(int(np.sum(wanted)))
    return found


def _neighbours(layout: ModelLayout, back: Codes, filling: Codes, size: int) -> tuple[Codes, Codes]:
    """Pairs of sessions, samples that came back and fillings that meet, diagonal and all."""
    g = layout.glasses
    pairs = np.unique(g.sample.astype(np.int64) * g.n_sessions + g.session)
    sample, session = pairs // g.n_sessions, pairs % g.n_sessions
    own, of = back[sample], filling[sample]
    comes, has = own >= 0, of >= 0
    first = [own[comes], of[has], of[comes & has]]
    second = [session[comes], session[has], own[comes & has]]
    for apart in range(1, MANY_SESSIONS):
        same = (sample[apart:] == sample[:-apart]) & comes[apart:]
        first.append(session[apart:][same])
        second.append(session[:-apart][same])
    each = np.arange(size)
    return np.concatenate([*first, each]), np.concatenate([*second, each])

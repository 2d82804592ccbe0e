"""A first look at a large panel: the same fit on some of its samples.

Variances, scales and noises are known well from a few hundred samples; on all of them the fit
then needs two or three rounds instead of a dozen.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..array_types import Codes
from ..errors import FitError
from .fit import fit_descriptor
from .layout import Glasses, ModelLayout
from .parameters import FitProblem, Parameters
from .terms import choose_terms

WANTED = 210
"""Samples to look at."""
WORTH_IT = 600
"""Samples from which a first look saves time."""
_KEPT = 4
"""Samples nosed in most sessions, always among them: they tie the sessions together."""


_TOLERANCE = 2.0
"""In standard errors of the look, twice those of the fit: the fit itself takes two rounds."""


def first_look(problem: FitProblem) -> Parameters | None:
    """Where to start a large fit; None where it is small or the look came to nothing."""
    layout = problem.layout
    if layout.glasses.n_samples < WORTH_IT:
        return None
    look = _look(layout.glasses)
    if len(look.assessors) < layout.glasses.n_assessors:
        return None
    if choose_terms(look.glasses.layout).names != problem.terms:
        return None
    some = FitProblem(
        look.glasses.layout,
        problem.y[look.rows],
        problem.covariates[look.samples],
        problem.terms,
        problem.panel,
        problem.order[look.rows],
        problem.settings,
    )
    try:
        return fit_descriptor(some, tolerance=_TOLERANCE).better
    except FitError:
        return None


def _chosen(layout: ModelLayout) -> Codes:
    """Which samples to look at: whole fillings, and those that tie the sessions together."""
    g = layout.glasses
    filling = g.filling
    n_fillings = int(filling.max()) + 1
    share = min(1.0, WANTED / g.n_samples)
    order = np.random.default_rng(3).permutation(n_fillings)
    taken = np.zeros(n_fillings, dtype=bool)
    taken[order[: max(int(share * n_fillings), 1)]] = True
    found = taken[filling]
    visits = np.bincount(g.sample, minlength=g.n_samples)
    found[np.argsort(-visits, kind="stable")[:_KEPT]] = True
    return found


@dataclass(frozen=True)
class _Look:
    """Some glasses, with the rows, assessors and samples they are of all."""

    glasses: Glasses
    rows: Codes
    assessors: Codes
    samples: Codes


@lru_cache(maxsize=1)
def _look(glasses: Glasses) -> _Look:
    """The same for all descriptors that were scored on the same glasses."""
    rows = np.flatnonzero(_chosen(glasses.layout)[glasses.sample])
    _, session = np.unique(glasses.session[rows], return_inverse=True)
    assessors, assessor = np.unique(glasses.assessor[rows], return_inverse=True)
    samples, sample = np.unique(glasses.sample[rows], return_inverse=True)
    _, filling = np.unique(glasses.filling[samples], return_inverse=True)
    return _Look(Glasses(session, assessor, sample, filling), rows, assessors, samples)

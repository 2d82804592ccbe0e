"""The mixed model of one descriptor over all sessions.

``y = mu + u_sample + a_assessor + s_session + o_assessor,session + d_assessor,sample + e``, all
but ``mu`` random. The estimate of a sample is what the standing panel would score on average::

    mu + mean(a_j) + u_i + mean(d_ij)        j over the panel

with the variance of its prediction error for these people; no session's mood is in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np
import scipy.sparse

from analysis.agreement.crossed import Codes, CrossedDesign, Vector
from analysis.agreement.reml import CrossedFit, fit_reml

SAMPLE, ASSESSOR, SESSION = "sample", "assessor", "session"
ASSESSOR_SESSION, ASSESSOR_SAMPLE = "assessor_session", "assessor_sample"
_TOLERANCE = 1e-9
"""Deviance per degree of freedom; variances need not be known better than this here."""


@dataclass(frozen=True)
class Glasses:
    """Scored glasses as codes, each from 0 without gaps."""

    session: Codes
    assessor: Codes
    sample: Codes

    @property
    def n(self) -> int:
        """Number of glasses."""
        return len(self.sample)


@dataclass(frozen=True)
class Terms:
    """The random terms that these glasses can tell apart, and why the others are out."""

    factors: Mapping[str, Codes]
    left_out: Mapping[str, str]
    cell_assessor: Codes
    cell_sample: Codes


@dataclass(frozen=True)
class Estimates:
    """Estimates of all samples of one descriptor, shape (samples,)."""

    estimate: Vector
    variance: Vector
    fit: CrossedFit


def terms(glasses: Glasses) -> Terms:
    """Choose the random terms: one that another term or single glasses mirror is left out."""
    a, s, i = glasses.assessor, glasses.session, glasses.sample
    block = _crossed(a, s)
    cell, cell_assessor, cell_sample = _cells(a, i)
    wanted = {
        SAMPLE: (i, "every glass held another sample"),
        ASSESSOR: (a, "there is one assessor, or each scored once"),
        SESSION: (s, "there is one session, or it cannot be told from another term"),
        ASSESSOR_SESSION: (block, "each assessor was there once"),
        ASSESSOR_SAMPLE: (cell, "no assessor had a sample twice"),
    }
    factors: dict[str, Codes] = {}
    left_out: dict[str, str] = {}
    for name, (codes, reason) in wanted.items():
        if _apart(codes, factors.values()):
            factors[name] = codes
        else:
            left_out[name] = reason
    return Terms(factors, left_out, cell_assessor, cell_sample)


def _apart(codes: Codes, others: Iterable[Codes]) -> bool:
    """Whether a grouping is neither trivial, nor one a glass, nor a copy of another."""
    n_levels = int(codes.max()) + 1
    if n_levels in (1, len(codes)):
        return False
    for other in others:
        if int(other.max()) + 1 == n_levels == int(_crossed(codes, other).max()) + 1:
            return False
    return True


def _crossed(first: Codes, second: Codes) -> Codes:
    joint = first.astype(np.int64) * (int(second.max()) + 1) + second
    codes: Codes = np.unique(joint, return_inverse=True)[1].astype(np.intp)
    return codes


def _cells(assessor: Codes, sample: Codes) -> tuple[Codes, Codes, Codes]:
    width = int(sample.max()) + 1
    values, codes = np.unique(assessor.astype(np.int64) * width + sample, return_inverse=True)
    return (
        codes.astype(np.intp),
        (values // width).astype(np.intp),
        (values % width).astype(np.intp),
    )


class ProfileModel:
    """Glasses with the products that all descriptors scored on the same glasses share."""

    def __init__(self, glasses: Glasses) -> None:
        self.glasses = glasses
        self.terms = terms(glasses)
        self.estimable = SAMPLE in self.terms.factors
        if self.estimable:
            self.design = CrossedDesign(np.ones((glasses.n, 1)), self.terms.factors)

    def estimates(self, y: Vector, panel: Codes, start: Mapping[str, float] | None) -> Estimates:
        """Fit one descriptor and estimate every sample for the assessors in `panel`.

        Raises
        ------
        FitError
            If the fit is not found, as when all scores are equal.
        """
        fit = fit_reml(self.design, y, start=start, tolerance=_TOLERANCE, restart=False)
        q = int(self.glasses.sample.max()) + 1
        weights: dict[str, scipy.sparse.csr_matrix] = {
            SAMPLE: scipy.sparse.identity(q, format="csr")
        }
        if ASSESSOR in fit.ratios:
            row = np.zeros(int(self.glasses.assessor.max()) + 1)
            row[panel] = 1.0 / len(panel)
            weights[ASSESSOR] = scipy.sparse.csr_matrix(np.tile(row, (q, 1)))
        unseen = np.zeros(q)
        if ASSESSOR_SAMPLE in fit.ratios:
            weights[ASSESSOR_SAMPLE], n_seen = self._panel_cells(panel, q)
            unseen = (len(panel) - n_seen) * fit.components[ASSESSOR_SAMPLE] / len(panel) ** 2
        estimate, variance = fit.predict(np.ones((q, 1)), weights)
        return Estimates(estimate, variance + unseen, fit)

    def _panel_cells(self, panel: Codes, q: int) -> tuple[scipy.sparse.csr_matrix, Vector]:
        """Weights of the panel's assessor-by-sample effects, and how many each sample has."""
        cells = np.flatnonzero(np.isin(self.terms.cell_assessor, panel))
        samples = self.terms.cell_sample[cells]
        shape = (q, len(self.terms.cell_sample))
        each = np.full(len(cells), 1.0 / len(panel))
        weights = scipy.sparse.csr_matrix((each, (samples, cells)), shape=shape)
        return weights, np.bincount(samples, minlength=q).astype(np.float64)

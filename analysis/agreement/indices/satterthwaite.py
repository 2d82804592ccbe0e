"""The F of a fixed term with Satterthwaite degrees of freedom.

Contrasts ``L b`` of a mixed model are tested by ``F = (L b)' (L C L')^-1 (L b) / q`` with
``C = (X' V^-1 X)^-1``. ``L C L'`` is taken apart into its eigenvectors; each direction ``l``
has ``df = 2 (l'Cl)^2 / (g'Ag)``, where ``g`` is the gradient of ``l'Cl`` over the variance
components and ``A`` their covariance, twice the inverse Hessian of the deviance. A component
at zero cannot move either way and takes no part. The directions are then combined so that the
mean of F comes out right (Fai & Cornelius 1996).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Matrix, Vector
from ...errors import FitError
from .distributions import f_upper
from .reml import CrossedFit


@dataclass(frozen=True)
class FixedTest:
    """An F with its degrees of freedom and p."""

    f: float
    df_num: float
    df_den: float
    p: float


def successive_contrasts(counts: Vector) -> Matrix:
    """Contrasts between the levels of one term, in the order of their names.

    With one fixed term the degrees of freedom of an unbalanced design depend a little on how
    the contrasts are chosen. Here they are the rows of the triangular factor of ``X'X`` with
    the first level as the base, as is usual for sequential tests.

    Parameters
    ----------
    counts
        Number of rows of each level, shape (p,).

    Returns
    -------
    numpy.ndarray
        Contrasts of the level means, shape (p - 1, p).
    """
    p = len(counts)
    crossed = np.diag(counts.astype(np.float64))
    crossed[0, :] = crossed[:, 0] = counts
    crossed[0, 0] = counts.sum()
    factor = np.linalg.cholesky(crossed)
    unit = factor / np.diag(factor)
    to_base = np.eye(p)
    to_base[1:, 0] = -1.0
    found: Matrix = unit.T[1:] @ to_base
    return found


def satterthwaite_f(fit: CrossedFit, contrasts: Matrix) -> FixedTest:
    """Test ``contrasts @ beta = 0``.

    Parameters
    ----------
    fit
        A fitted model.
    contrasts
        Rows of full rank, shape (q, p).

    Returns
    -------
    FixedTest

    Raises
    ------
    FitError
        When the components are known too little to give degrees of freedom.

    Notes
    -----
    Agrees with lmerTest 3.1-3 (R 4.2.2) on unbalanced data to 1e-6 in F and 1e-4 in the
    degrees of freedom; see the tests.

    Examples
    --------
    >>> from oakpanel.analysis.agreement.indices.crossed import CrossedDesign
    >>> from oakpanel.analysis.agreement.indices.reml import fit_reml
    >>> sample, assessor = np.repeat(np.arange(3), 4), np.tile(np.arange(4), 3)
    >>> design = CrossedDesign(np.eye(3)[sample], {"assessor": assessor})
    >>> y = np.array([5.0, 7, 6, 9, 8, 9, 9, 13, 4, 6, 6, 7])
    >>> found = satterthwaite_f(fit_reml(design, y), successive_contrasts(np.array([4.0, 4, 4])))
    >>> round(found.f, 4), found.df_num, round(found.df_den, 4)
    (31.2, 2.0, 6.0)
    """
    covariance = contrasts @ fit.beta_covariance @ contrasts.T
    values, vectors = np.linalg.eigh(covariance)
    directions = vectors.T @ contrasts
    squares = (directions @ fit.beta) ** 2 / values
    q = len(values)
    f = float(squares.sum() / q)
    df = _direction_df(fit, directions, values)
    if not (np.isfinite(df).all() and (df > 0.0).all()):
        raise FitError("The degrees of freedom cannot be found: too few scores share samples.")
    df_den = _combine(df)
    p = f_upper(f, q, df_den)
    return FixedTest(f=f, df_num=float(q), df_den=df_den, p=p)


def _direction_df(fit: CrossedFit, directions: Matrix, variances: Vector) -> Vector:
    hessian, gradients = _information(fit, directions)
    spread = 2.0 * np.linalg.pinv(hessian, hermitian=True)
    noise = np.sum((gradients @ spread) * gradients, axis=1)
    found: Vector = 2.0 * variances**2 / np.where(noise > 0.0, noise, np.nan)
    return found


def _combine(df: Vector) -> float:
    """Degrees of freedom of F from those of its squared t directions."""
    q = len(df)
    if q == 1 or np.all(np.abs(np.diff(df)) < 1e-8):
        return float(df.mean())
    if not np.all(df > 2.0):
        return 2.0
    expected = float(np.sum(df / (df - 2.0)))
    return 2.0 * expected / (expected - q)


def _information(fit: CrossedFit, directions: Matrix) -> tuple[Matrix, Matrix]:
    """Hessian of the deviance and gradients of ``l'Cl`` over the components in use.

    The components are those above zero in elimination order, the residual last;
    ``H_ij = -tr(P V_i P V_j) + 2 y'P V_i P V_j P y`` with P for the full V. Only the crossed
    products ``Z_i'P Z_j`` are formed; what involves the residual follows from ``P V P = P``.
    """
    design, state = fit.design, fit.state
    used = [int(i) for i in np.flatnonzero(state.ratios > 0.0)]
    ratios = state.ratios[used]
    crossed = _crossed_products(fit, used)
    left = design.left(fit.response, state)
    pulls = [left[i] for i in used]
    traces = _with_residual(
        np.array([[np.sum(part**2) for part in row] for row in crossed]),
        np.array([np.trace(row[at]) for at, row in enumerate(crossed)]),
        float(design.degrees),
        ratios,
    )
    quadratic = _with_residual(
        np.array(
            [
                [a @ part @ b for b, part in zip(pulls, row, strict=True)]
                for a, row in zip(pulls, crossed, strict=True)
            ]
        ),
        np.array([a @ a for a in pulls]),
        state.squares,
        ratios,
    )
    hessian = (2.0 * quadratic / fit.residual - traces) / fit.residual**2
    return hessian, _gradients(fit, used, fit.beta_covariance @ directions.T / fit.residual)


def _with_residual(inner: Matrix, single: Vector, whole: float, ratios: Vector) -> Matrix:
    """Add the row of the residual, whose ``V_e = I = V - sum g_i V_i``."""
    k = len(ratios)
    found = np.empty((k + 1, k + 1))
    found[:k, :k] = inner.reshape(k, k)
    border = single - found[:k, :k] @ ratios
    found[:k, k] = found[k, :k] = border
    found[k, k] = whole - ratios @ single - ratios @ border
    return found


def _crossed_products(fit: CrossedFit, used: Sequence[int]) -> list[list[Matrix]]:
    """``Z_i' P Z_j`` for the factors in use, in elimination order."""
    design, state = fit.design, fit.state
    onto = _onto_rest(fit)
    plain = {
        (0, 0): np.diag(design.counts / state.a),
        **{(0, j + 1): onto[0][:, block] for j, block in enumerate(design.blocks)},
        **{
            (i + 1, j + 1): state.cross[one, other]
            for i, one in enumerate(design.blocks)
            for j, other in enumerate(design.blocks)
        },
    }
    found: list[list[Matrix]] = []
    for row, i in enumerate(used):
        through = onto[i] @ state.inverse
        found.append(
            [
                found[at][row].T if at < row else plain[i, j] - through @ onto[j].T
                for at, j in enumerate(used)
            ]
        )
    return found


def _onto_rest(fit: CrossedFit) -> list[Matrix]:
    """``Z_i' V_1^-1 U`` with U the columns that were not eliminated, for every factor."""
    design, state = fit.design, fit.state
    first = design.first_products.toarray() / state.a[:, None]
    return [first, *(state.cross[block] for block in design.blocks)]


def _gradients(fit: CrossedFit, used: Sequence[int], weights: Matrix) -> Matrix:
    """``|Z_i' V^-1 X w|^2`` for each weight w and factor in use, and the same for the residual."""
    design, state = fit.design, fit.state
    m = design.random_size
    scale = np.sqrt(np.repeat(state.ratios[1:], design.levels[1:]))
    inner = scale[:, None] * state.cross[:m, :m] * scale + np.eye(m)
    solved = scale[:, None] * np.linalg.solve(inner, scale[:, None] * state.cross[:m, m:])
    onto = _onto_rest(fit)
    parts = [(onto[i][:, m:] - onto[i][:, :m] @ solved) @ weights for i in used]
    squares = [np.sum(part**2, axis=0) for part in parts]
    whole = (state.cross[m:, m:] - state.cross[m:, :m] @ solved) @ weights
    plain = np.sum(weights * whole, axis=0)
    taken = sum((g * part for g, part in zip(state.ratios[used], squares, strict=True)), 0.0)
    return np.stack([*squares, plain - taken], axis=1)

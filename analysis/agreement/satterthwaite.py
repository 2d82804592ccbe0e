"""The F of a fixed term with Satterthwaite degrees of freedom.

Contrasts ``L b`` of a mixed model are tested by ``F = (L b)' (L C L')^-1 (L b) / q`` with
``C = (X' V^-1 X)^-1``. ``L C L'`` is taken apart into its eigenvectors; each direction ``l``
has ``df = 2 (l'Cl)^2 / (g'Ag)``, where ``g`` is the gradient of ``l'Cl`` over the variance
components and ``A`` their covariance, twice the inverse Hessian of the deviance. A component
at zero cannot move either way and takes no part. The directions are then combined so that the
mean of F comes out right (Fai & Cornelius 1996).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.agreement.crossed import Matrix, Vector
from analysis.agreement.distributions import f_upper
from analysis.agreement.reml import CrossedFit
from analysis.errors import FitError


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
    >>> from analysis.agreement.crossed import CrossedDesign
    >>> from analysis.agreement.reml import fit_reml
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


def contrast_df(fit: CrossedFit, directions: Matrix) -> Vector:
    """Satterthwaite degrees of freedom of single contrasts, shape (m,)."""
    variances = np.sum((directions @ fit.beta_covariance) * directions, axis=1)
    return _direction_df(fit, directions, variances)


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
    ``H_ij = -tr(P V_i P V_j) + 2 y'P V_i P V_j P y`` with P for the full V.
    """
    design, state = fit.design, fit.state
    used = np.flatnonzero(state.ratios > 0.0)
    blocks = [design.incidence[i].toarray() for i in used]
    ratios = state.ratios[used]
    projected = [_project(fit, z) for z in blocks]
    left = _project(fit, fit.response.y[:, None])[:, 0]
    pulls = [z @ (z.T @ left) for z in blocks]
    images = [part @ (z.T @ left) for part, z in zip(projected, blocks, strict=True)]
    images.append(left - sum((g * a for g, a in zip(ratios, images, strict=True)), np.zeros(1)))
    k = len(used)
    traces = np.empty((k + 1, k + 1))
    for i in range(k):
        for j in range(i, k):
            traces[i, j] = traces[j, i] = np.sum((blocks[i].T @ projected[j]) ** 2)
        traces[i, k] = traces[k, i] = np.sum(projected[i] ** 2)
    plain = [np.sum(z * part) for z, part in zip(blocks, projected, strict=True)]
    traces[k, k] = design.degrees - ratios @ np.array(plain) - ratios @ traces[k, :k]
    quadratic = np.stack([*pulls, left]) @ np.stack(images, axis=1)
    hessian = (2.0 * quadratic / fit.residual - traces) / fit.residual**2
    weighted = _weighted_fixed(fit) @ (fit.beta_covariance @ directions.T) / fit.residual
    slopes = [np.sum((z.T @ weighted) ** 2, axis=0) for z in blocks]
    slopes.append(np.sum(weighted**2, axis=0))
    return hessian, np.stack(slopes, axis=1)


def _project(fit: CrossedFit, columns: Matrix) -> Matrix:
    """``P columns`` for the V of the ratios."""
    weighted = _absorb(fit, columns)
    rest = fit.design.rest
    found: Matrix = weighted - _absorb(fit, rest @ (fit.state.inverse @ (rest.T @ weighted)))
    return found


def _absorb(fit: CrossedFit, columns: Matrix) -> Matrix:
    """``(I + g Z Z')^-1 columns`` for the eliminated factor."""
    z = fit.design.incidence[0]
    shrink = fit.state.ratios[0] / fit.state.a
    found: Matrix = columns - z @ (shrink[:, None] * (z.T @ columns))
    return found


def _weighted_fixed(fit: CrossedFit) -> Matrix:
    """``V^-1 X`` for the V of the ratios."""
    design, state = fit.design, fit.state
    m = design.random_size
    weighted = _absorb(fit, design.fixed)
    if m == 0:
        return weighted
    scale = np.sqrt(np.repeat(state.ratios[1:], design.levels[1:]))
    inner = scale[:, None] * state.cross[:m, :m] * scale + np.eye(m)
    others = design.rest[:, :m]
    solved = scale[:, None] * np.linalg.solve(inner, scale[:, None] * (others.T @ weighted))
    found: Matrix = weighted - _absorb(fit, others @ solved)
    return found

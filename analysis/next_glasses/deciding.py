"""What deciding now costs, what it will cost after a session, and who crosses the cut by then.

The loss is the mean of how far the chosen are off, less that of the truly nearest: by draws from
the joint fit, all casks at once. After a session the posterior means have moved; what choosing by
them is better on average is what the session saves, since what is believed now is the average of
what will be believed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.special

from ..array_types import Codes, Floats, Matrix, Stack, Vector
from ..target.off import draws_off, moments_off, points_off
from .apart import tied_by
from .besides import Besides
from .inverse import inverse_of
from .margins import Margins
from .value import loss_of

_LEFT = 2e-3
"""Share of the loss that casks which are never drawn may make up."""
_LEAST_MOVE = 1e-12
_SURE = 1.0 - 1e-9
_BY_NOTES, _AT_ALL = 300, 1500
"""Casks next to the cut that are drawn note by note; further ones by how far off they are; and
how many at most."""
_STAYING = 40
"""Casks next to the chosen that are followed through the session though nobody noses them."""
_AT_ONCE = 2_000_000
"""Numbers drawn at once."""


@dataclass(frozen=True)
class Cost:
    """What a decision costs.

    Attributes
    ----------
    loss, saved
        Points by which the mean of the chosen is expected to be further off than that of the
        truly nearest, and how much less of it there is after the session.
    wrong, wrong_after
        Of each chosen, the chance that it does not belong to the truly nearest; after the
        session the mean of that over whoever is chosen then.
    belongs
        Chance of each cask to belong to them, shape (casks,).
    crosses
        Chance of each cask that the session moves it over the cut, shape (casks,).
    if_better, if_worse
        What `belongs` is on average over the sessions that find a cask better than it is held
        today, and over those that find it worse; `belongs` lies in the middle of the two.
    """

    loss: float
    saved: float
    wrong: Vector
    belongs: Vector
    crosses: Vector
    if_better: Vector
    if_worse: Vector

    @property
    def after(self) -> float:
        """Loss that is left after the session; the draws of both may differ by their luck."""
        return max(self.loss - self.saved, 0.0)


def cost_of(
    margins: Margins,
    moves: Vector,
    draws: int,
    seed: int,
    *,
    told: Matrix | None = None,
    besides: Besides | None = None,
) -> Cost:
    """Reckon what deciding costs now and after a session.

    Parameters
    ----------
    moves
        Standard deviation by which the session moves the points off of each cask.
    draws
        Joint draws; the means after the session are drawn four times as often.
    told
        What the session's glasses tell of each cask and note, as 1 / variance, shape (casks,
        notes): the points off after it are then reckoned from where the notes have moved to. A cask
        that may lie on either side of an aim in the middle of the line moves by no normal. Without
        it they move by normals.
    besides
        What the session moves anyway, see :mod:`analysis.next_glasses.besides`; goes with `told`.
    """
    rng = np.random.default_rng(seed)
    n, k = len(margins.off), margins.k
    belongs, crosses = np.zeros(n), np.zeros(n)
    if k == 0 or len(margins.order) <= k:
        belongs[margins.chosen] = 1.0
        return Cost(0.0, 0.0, np.zeros(k), belongs, crosses, belongs, belongs)
    rows = _hopeful(margins)
    near, far = rows[: k + _BY_NOTES], rows[k + _BY_NOTES : _AT_ALL]
    rows = np.concatenate([near, far])
    off, apart = np.empty((2, draws, len(rows)))
    off[:, : len(near)], apart[:, : len(near)] = _drawn_off(margins, near, draws, rng)
    off[:, len(near) :] = apart[:, len(near) :] = _drawn_far(margins, far, draws, rng)
    nearest = np.argpartition(off, k - 1, axis=1)[:, :k]
    belongs[rows] = np.bincount(nearest.ravel(), minlength=len(rows)) / draws
    if_better = belongs.copy()
    told_of = moves[rows] / np.sqrt(np.maximum(margins.variance[rows], _LEAST_MOVE))
    if_better[rows] = _if_better(apart, nearest, told_of)
    chosen = margins.chosen[rows]
    best = np.take_along_axis(off, nearest, axis=1).mean(axis=1)
    loss = float((off[:, chosen].mean(axis=1) - best).mean())
    some = followed(margins, moves)
    then = margins.off[some] + moves[some] * rng.standard_normal((4 * draws, len(some)))
    if told is not None:
        anyway = besides or Besides(np.zeros(told.shape[1]), 0.0)
        moving = np.flatnonzero(told[some].any(axis=1) | (anyway.share > 0.0))
        rows = some[moving]
        then[:, moving] = _off_after(margins, rows, told[rows], anyway, 4 * draws, rng)
    saved, crosses[some] = _moved(margins, some, then)
    wrong = 1.0 - belongs[margins.chosen]
    return Cost(loss, saved, wrong, belongs, crosses, if_better, 2.0 * belongs - if_better)


def _hopeful(margins: Margins) -> Codes:
    """The chosen, then the casks that may yet be nearer than one of them, likeliest first."""
    typical = float(np.mean(margins.variance[margins.chosen]))
    loss = loss_of(margins.distance, np.sqrt(margins.variance + typical))
    loss[margins.chosen] = np.inf
    order = np.argsort(-loss, kind="stable")
    others = loss[order][margins.k :]
    left = others.sum() - np.cumsum(others)
    n = margins.k + 1 + int(np.count_nonzero(left > _LEFT * others.sum()))
    found: Codes = order[:n]
    return found


def followed(margins: Margins, moves: Vector) -> Codes:
    """The chosen, the casks that move, and as many of those that stay as may be needed."""
    stay = margins.order[: margins.k + max(margins.k, _STAYING)]
    some = margins.chosen | (moves > 0.0) | tied_by(margins.states.part, moves > 0.0)
    found: Codes = np.union1d(np.flatnonzero(some), stay)
    return found.astype(np.intp)


def _drawn_off(
    margins: Margins, rows: Codes, draws: int, rng: np.random.Generator
) -> tuple[Matrix, Matrix]:
    """Points off of each cask in each draw, and without what all casks share, (draws, casks)."""
    some = margins.states.only(rows)
    each = max(1, _AT_ONCE // max(some.mean.size, 1))
    off, apart = np.empty((2, draws, len(rows)))
    for start in range(0, draws, each):
        n = min(each, draws - start)
        drawn = some.against_each_other(n, rng)
        apart[start : start + n] = points_off(margins.target, drawn)
        off[start : start + n] = points_off(margins.target, drawn + some.level(n, rng))
    return off, apart


def _if_better(off: Matrix, nearest: Codes, told: Vector) -> Vector:
    """Chance of each cask to be of the nearest, over the sessions that find it better than today.

    What a session finds of a cask goes with how far off it truly is by a correlation of `told`:
    of each draw the chance that it finds the cask better is known, and the draws are counted by
    it. Taken by ranks, so that half of all sessions find it better, however its spread is bent.
    """
    draws = len(off)
    found = np.bincount(nearest.ravel(), minlength=off.shape[1]) / draws
    normal = scipy.special.ndtri((np.arange(draws) + 0.5) / draws)
    for at in np.flatnonzero(told > 0.0):
        part = min(float(told[at]), _SURE)
        better = np.empty(draws)
        better[np.argsort(off[:, at], kind="stable")] = scipy.special.ndtr(
            -normal * part / np.sqrt(1.0 - part**2)
        )
        found[at] = 2.0 * float(better @ (nearest == at).any(axis=1)) / draws
    return found


def _drawn_far(margins: Margins, rows: Codes, draws: int, rng: np.random.Generator) -> Matrix:
    """The same of casks far from the cut, each by itself."""
    some = margins.states.only(rows)
    return draws_off(margins.target, some.mean, some.covariance, some.tails(draws, rng), rng)


def _off_after(
    margins: Margins,
    rows: Codes,
    told: Matrix,
    besides: Besides,
    draws: int,
    rng: np.random.Generator,
) -> Matrix:
    """Points that casks will be held to be off after a session, (draws, casks).

    Notes move by normals, each cask by itself and all of them with the panel's level, and what is
    left unknown of them is the same in every draw. What is believed now is the average of what
    will be: where the gamma of `moments_off` is off by a little, the draws are moved there.
    """
    mean, before = margins.states.mean[rows], margins.states.covariance[rows]
    left = inverse_of(inverse_of(before) + told[:, :, None] * np.eye(mean.shape[1]))
    left *= 1.0 - besides.share
    level = np.sqrt(besides.level)
    values, ways = np.linalg.eigh(before - left)
    root = ways * np.sqrt(np.maximum(values, 0.0))[:, None, :]
    bent = _bent(margins, rows, before - left)
    found = np.empty((draws, len(rows)))
    each = max(1, _AT_ONCE // max(mean.size, 1))
    for start in range(0, draws, each):
        normal = rng.standard_normal((min(each, draws - start), *mean.shape))
        moved = mean + bent(np.einsum("nij,dnj->dni", root, normal))
        moved += rng.standard_normal((len(normal), 1, len(level))) * level
        found[start : start + each] = moments_off(margins.target, moved, left)[0]
    whole = before + np.diag(level**2)
    found += moments_off(margins.target, mean, whole)[0] - found.mean(axis=0)
    return found


def _bent(margins: Margins, rows: Codes, moves: Stack) -> Callable[[Floats], Floats]:
    """What bends moves of notes as the spread of the house does; they stay as they are without."""
    some = margins.states.only(rows)
    bends = some.bends
    if bends is None:
        return lambda moved: moved
    sd = np.sqrt(np.maximum(np.diagonal(moves, axis1=1, axis2=2), _LEAST_MOVE))
    share = np.minimum(sd / np.sqrt(np.diagonal(some.covariance, axis1=1, axis2=2)), 1.0)
    return lambda moved: bends.bent(moved / sd, share) * sd


def _moved(margins: Margins, rows: Codes, then: Matrix) -> tuple[float, Vector]:
    """What choosing by the means after a session saves, and how often each crosses the cut."""
    k, draws = margins.k, len(then)
    chosen = margins.chosen[rows]
    nearest = np.argpartition(then, k - 1, axis=1)[:, :k]
    best = np.take_along_axis(then, nearest, axis=1).mean(axis=1)
    saved = float((then[:, chosen].mean(axis=1) - best).mean())
    among = np.bincount(nearest.ravel(), minlength=len(rows)) / draws
    return max(saved, 0.0), np.where(chosen, 1.0 - among, among)

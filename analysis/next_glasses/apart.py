"""Casks of sessions that share no glass with those compared: known against each other only.

The level of such sessions on the line is known no better than from the casks they had, so the
errors of these hang together: an evening's casks all lie higher or all lower, and keep their order.
With V the variance of a session's level, m sessions and n casks of a part, T what casks differ by
and ``k_i`` the share of it that the scores of cask i tell, the level is left with::

    var(L) = 1 / (m / V + sum_i k_i / T)

and cask i carries ``k_i L`` of it. One glass of such a cask beside others ties its whole part.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..array_types import Codes, Flags, Matrix, Stack
from ..profile.posterior import Posterior
from ..profile.result import DescriptorFit
from ..profile.terms import ASSESSOR_SESSION, SESSION
from .known import Known

_LEAST = 1e-9
_MOST = 0.9
"""Share of a cask's variance that the level of its sessions makes up at most."""


@dataclass(frozen=True, eq=False)
class Apart:
    """What is known of the casks of a stock where its sessions fall into parts.

    Attributes
    ----------
    part
        Of each cask the part of its draw, from 1; 0 of those compared and those without a glass.
    there
        Casks that are apart and have an estimate on every note.
    mean, own
        Of the casks apart, as their own sessions have them, shape (casks, notes[, notes]).
    level
        What each cask carries of the level of its part, (casks, notes, parts).
    """

    part: Codes
    there: Flags
    mean: Matrix
    own: Stack
    level: Stack

    def level_within(self, variance: Matrix) -> Stack:
        """What the level makes up of errors of some variance, never all of them."""
        whole = np.maximum(np.sum(self.level**2, axis=2), _LEAST)
        share = np.sqrt(np.minimum(_MOST * variance / whole, 1.0))
        found: Stack = self.level * share[:, :, None]
        return found


def apart_of(known: Known, notes: tuple[str, ...]) -> Apart | None:
    """Say what is known of casks in other parts; None where all sessions hang together."""
    held = known.profile.posterior
    if held is None or len(known.profile.links) < 2 or not set(notes) <= set(held.descriptors):
        return None
    link, samples = _links(known, held)
    at = [held.descriptors.index(note) for note in notes]
    mean, own = held.mean[samples][:, at], held.covariance[samples][:, at][:, :, at]
    heard = (link >= 0) & np.isfinite(mean).all(axis=1)
    level = _levels(known, held, at, np.where(heard, link, -1), own)
    part = np.where(known.stock.is_apart & (link > 0), link, 0)
    return Apart(part, (part > 0) & heard, mean, own, level)


def _links(known: Known, held: Posterior) -> tuple[Codes, Codes]:
    """Of each cask the part of the draw that stands for it, -1 without one, and its row."""
    link = {name: i for i, part in enumerate(known.profile.links) for name in part.samples}
    row = {name: i for i, name in enumerate(held.samples)}
    nosed = [known.nosed.get(str(name)) for name in known.stock.names]
    names = ["" if one is None else one.sample for one in nosed]
    found = [link.get(name, -1) if name in row else -1 for name in names]
    return np.array(found, dtype=np.intp), np.array([row.get(name, 0) for name in names], np.intp)


def _levels(known: Known, held: Posterior, at: list[int], link: Codes, own: Stack) -> Stack:
    """What each cask carries of the level that its part is not known better than to."""
    fits = {fit.descriptor: fit for fit in known.profile.fits}
    between = np.maximum(np.diagonal(held.between)[at], _LEAST)
    variance = np.diagonal(own, axis1=1, axis2=2)
    told = np.clip(1.0 - variance / between, 0.0, 1.0)
    mood = np.array([_mood(fits.get(held.descriptors[k])) for k in at])
    found = np.zeros((*told.shape, len(known.profile.links)))
    for place, part in enumerate(known.profile.links):
        rows = np.flatnonzero(link == place)
        left = mood / (len(part.sessions) + mood * told[rows].sum(axis=0) / between)
        found[rows, :, place] = told[rows] * np.sqrt(left)
    return found


def _mood(fit: DescriptorFit | None) -> float:
    """Variance of the level of one session: everybody's that evening, and the mean of each own."""
    if fit is None:
        return 0.0
    alone = fit.variances.get(ASSESSOR_SESSION, 0.0) / max(len(fit.scale or ()), 1)
    return fit.variances.get(SESSION, 0.0) + alone


def tied_by(part: Codes | None, poured: Flags) -> Flags:
    """Casks apart whose part a glass of some casks ties to those compared."""
    if part is None:
        return np.zeros(len(poured), dtype=np.bool_)
    found: Flags = (part > 0) & np.isin(part, part[poured])
    return found


def is_apart(part: Codes | None, n: int) -> Flags:
    """Which of `n` casks lie apart."""
    found: Flags = np.zeros(n, dtype=np.bool_) if part is None else part > 0
    return found

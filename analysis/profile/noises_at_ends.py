"""Noise where some scores lie at an end of the line: one step of a fit.

Pseudo-scores have no residuals, so ``s^2`` cannot be what is left of them over their number. It
is taken from the scores within the line and from what each glass at an end tells of the noise
(see `sites`); slips count for as much as they are trusted. Beside them stand a few glasses of an
ordinary noise: a rare note without duplicates would else drive it to nothing.
"""

from __future__ import annotations

import numpy as np

from .ends import Ends
from .noises import LESS_KNOWN, Noise, Residuals
from .parameters import Parameters
from .settings import ProfileSettings
from .sites import Sites

FIRST_NOISE, FIRST_WORTH = 36.0, 4.0
"""Noise variance before any score is seen, and how many glasses it counts for."""
FIRST_SLIPS, SLIPS_WORTH = 0.01, 100.0
"""Share of slips before any score is seen, and how many glasses it counts for."""
_LEAST_FREE = 0.3
_LEAST_OF_BEFORE = 0.1
_FURTHEST = 3.0


def noise_at_ends(
    found: Residuals,
    now: Parameters,
    settings: ProfileSettings,
    ends: Ends,
    sites: Sites,
) -> Noise:
    """One step of the noise of each assessor, in units of the present ``s^2``."""
    by, heard = found.by_assessor, np.where(ends.within, sites.trust, 0.0)
    before = found.squares * now.noise
    n = by(heard)
    used = by(heard * found.uncertain) / before
    free = np.maximum(n - LESS_KNOWN * used, _LEAST_FREE * n + 0.1)
    own = heard * (found.raw_left**2 + (1.0 - LESS_KNOWN) * found.uncertain) + sites.told
    totals = np.maximum(by(own), _LEAST_OF_BEFORE * free * before)
    first = FIRST_WORTH * FIRST_NOISE
    common = float((totals.sum() + first) / (free.sum() + FIRST_WORTH))
    worth = settings.noise_weight
    noise = (totals + worth * common) / (free + worth)
    if settings.equal_noise:
        noise = np.full_like(noise, common)
    noise = np.clip(noise, before / _FURTHEST, before * _FURTHEST)
    return Noise(noise / found.squares, noise, np.ones(1))


def share_of_slips(sites: Sites) -> float:
    """Share of slips after one step."""
    wrong = float(np.sum(1.0 - sites.trust)) + FIRST_SLIPS * SLIPS_WORTH
    return wrong / (len(sites.trust) + SLIPS_WORTH)

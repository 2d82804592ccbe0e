"""What was found of a note by the models of influences, so that another may begin there.

Of the time that a model takes, most goes into finding its variances, and into leaving out cask by
cask. Both hang on the readings and the draws alone; whoever has found them before, of the same
numbers, may hand them back (:data:`Search`), and the model is the same to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256

import numpy as np
import pandas as pd

from ..array_types import Vector
from .evidence import Evidence
from .note_model import Likeliest
from .settings import InfluenceSettings


@dataclass(frozen=True)
class Searched:
    """What was found of one note.

    Attributes
    ----------
    evidence
        What tells of the years.
    likeliest
        Where its model is likeliest.
    residual, variance
        Of all readings, each foretold without its cask.
    """

    evidence: Evidence
    likeliest: Likeliest
    residual: Vector
    variance: Vector


Search = Callable[[str, Callable[[], Searched]], Searched]
"""Gives what was found for a digest of all that is searched in, or searches there and then."""


def search_anew(_digest: str, find: Callable[[], Searched]) -> Searched:
    """Search, whatever was found before."""
    return find()


def digest_of_ground(draws: pd.DataFrame, settings: InfluenceSettings, *, age_is_lost: bool) -> str:
    """Return a digest of the draws that notes were read of, in every column."""
    told = sha256(repr([settings, age_is_lost]).encode())
    for name in draws.columns:
        told.update(repr([name, draws[name].tolist()]).encode())
    return told.hexdigest()


def digest_of_readings(ground: str, reading: Vector, noise_variance: Vector) -> str:
    """Return a digest of what was read of those draws on one note, to the last bit."""
    told = sha256(ground.encode())
    for each in (reading, noise_variance):
        told.update(np.ascontiguousarray(each, dtype=np.float64).tobytes())
    return told.hexdigest()

"""What is said of influences: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

import pandas as pd

from analysis.as_json import Json, plain
from analysis.influences.factors import Factor
from analysis.influences.moves import Claims
from analysis.influences.pls_map import Map
from analysis.influences.separate import Separation


@dataclass(frozen=True)
class Effect:
    """What one level of an influence does to one descriptor, in points of the 0-100 line.

    Attributes
    ----------
    factor, level, against
        The influence, its level, and what it is compared with, everything else equal.
    estimate, low, high
        Points more (or less) and the interval; None with the reason in `note`.
    n_casks
        Nosed casks of this level.
    holds
        Whether the influence as a whole may be said to move the descriptor, see
        :mod:`analysis.influences.moves`. The interval of one that holds is wide enough to count
        for its being picked among many.
    """

    descriptor: str
    factor: Factor
    level: str
    against: str
    estimate: float | None
    low: float | None
    high: float | None
    n_casks: int
    note: str | None = None
    holds: bool = False

    @property
    def clear(self) -> bool:
        """Whether the influence holds, and the interval leaves no doubt about the direction."""
        known = self.low is not None and self.high is not None
        return self.holds and known and (self.low or 0.0) * (self.high or 0.0) > 0


@dataclass(frozen=True)
class NoteInfluences:
    """How one descriptor is explained.

    Attributes
    ----------
    sentence
        What moves this note, in words.
    q2_cask, q2_batch, ceiling, off_by_points
        How well it is foretold when whole casks, or whole filling batches (one make, one year),
        are left out; see :class:`analysis.influences.power.Power`.
    time_constant_years, half_life_years
        Averages over the ways of growing and fading, weighed by how likely they are; None where
        nothing is learnt of them.
    cask_sd_points
        Standard deviation between casks alike in all that is known of them.
    shape_note
        Where what is left over still goes with age; None where the curve fits.
    reason
        Why nothing is told of this descriptor.
    """

    descriptor: str
    sentence: str
    n_casks: int
    n_draws: int
    q2_cask: float | None = None
    q2_batch: float | None = None
    ceiling: float | None = None
    off_by_points: float | None = None
    time_constant_years: float | None = None
    half_life_years: float | None = None
    cask_sd_points: float | None = None
    shape_note: str | None = None
    reason: str | None = None


@dataclass(frozen=True)
class Influences:
    """What wood, age, peat and strength do to each descriptor.

    Attributes
    ----------
    effects
        One a descriptor, influence and level.
    notes
        One a descriptor.
    separation
        Which influences the draws can tell apart.
    map
        Descriptors and influences set out by partial least squares, to look at only.
    predictions
        Casks never nosed: `cask, filling, descriptor, estimate, se, low, high, note`.
    level
        Probability that the intervals are meant to cover, one at a time.
    claims
        The test of each influence on each descriptor, and what may be said over all of them.
    n_sessions
        Sessions behind the readings.
    left_out
        Draws not used, by reason.
    """

    effects: tuple[Effect, ...]
    notes: tuple[NoteInfluences, ...]
    separation: Separation
    map: Map | None
    predictions: pd.DataFrame
    level: float
    n_casks: int
    n_draws: int
    left_out: Mapping[str, int]
    claims: Claims
    warnings: tuple[str, ...] = ()

    def of(self, descriptor: str) -> tuple[Effect, ...]:
        """Effects on one descriptor."""
        return tuple(effect for effect in self.effects if effect.descriptor == descriptor)

    def to_dict(self) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None."""
        return {
            "level": self.level,
            "n_casks": self.n_casks,
            "n_draws": self.n_draws,
            "left_out": plain(self.left_out),
            "warnings": plain(self.warnings),
            "effects": [plain(asdict(effect)) for effect in self.effects],
            "notes": [plain(asdict(note)) for note in self.notes],
            "tests": [plain(asdict(test)) for test in self.claims.tests],
            "level_of_claims": self.claims.level,
            "separation": {
                "condition_number": self.separation.condition_number,
                "inseparable": [
                    {**plain(asdict(part)), "note": part.note}
                    for part in self.separation.inseparable
                ],
            },
            "map": None if self.map is None else self.map.to_dict(),
            "predictions": [record(row) for row in self.predictions.to_dict("records")],
        }


def record(row: Mapping[Any, Any]) -> Json:
    """One row of a frame as plain values."""
    return {str(key): cell(value) for key, value in row.items()}


def cell(value: Any) -> Any:
    """One value of a frame as a plain one; what is missing becomes None."""
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    if value is None or pd.isna(value):
        return None
    return plain(value.item() if hasattr(value, "item") else value)

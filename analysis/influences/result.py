"""What is said of influences: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, TypedDict

import pandas as pd

from ..as_json import AsJson
from ..readable import Readable
from .factor_tests import FactorTest
from .factors import Factor
from .moves import Claims
from .pls_map import Map
from .separate import Separation


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
        return self.holds and self._off_nought

    @property
    def unclaimed(self) -> bool:
        """Whether its interval lies beyond 0 although the influence as a whole does not hold."""
        return not self.holds and self._off_nought

    @property
    def _off_nought(self) -> bool:
        known = self.low is not None and self.high is not None
        return known and (self.low or 0.0) * (self.high or 0.0) > 0


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


class PredictionRow(TypedDict):
    """A note of a cask that nobody nosed."""

    cask: str
    filling: str
    descriptor: str
    estimate: float | None
    se: float | None
    low: float | None
    high: float | None
    note: str | None


@dataclass(frozen=True, repr=False)
class Influences(AsJson, Readable):
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
    predictions: Annotated[pd.DataFrame, PredictionRow]
    level: float
    n_casks: int
    n_draws: int
    left_out: Mapping[str, int]
    claims: Claims
    warnings: tuple[str, ...] = ()

    json_keys = (
        *("level", "n_casks", "n_draws", "left_out", "warnings", "effects", "notes"),
        *("tests", "level_of_claims", "separation", "map", "predictions"),
    )

    @property
    def tests(self) -> tuple[FactorTest, ...]:
        """One a factor and descriptor."""
        return self.claims.tests

    @property
    def level_of_claims(self) -> float:
        """Probability that all that is said to be surely so is."""
        return self.claims.level

    def of(self, descriptor: str) -> tuple[Effect, ...]:
        """Effects on one descriptor."""
        return tuple(effect for effect in self.effects if effect.descriptor == descriptor)

    def said(self) -> Iterator[str]:
        """Give what to know first, and what moves each note."""
        yield f"From {self.n_draws} draws of {self.n_casks} casks."
        yield from self.warnings
        for note in self.notes:
            yield note.sentence

    def rows(self) -> Iterable[object]:
        """Give the effects."""
        return self.effects

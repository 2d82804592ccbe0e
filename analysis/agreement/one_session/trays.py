"""How likely a whole tray is as it was recorded, and as it would be had glasses changed places."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from scipy.special import logsumexp

from ...array_types import Codes, Flags, Floats, Matrix, Stack, Vector
from ..indices.layout import additive_levels, means_of_others

_WIDTHS = np.array([0.35, 0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0, 5.6, 8.0, 11.0])
_WIDTH_PRIOR = -0.5 * (np.log(_WIDTHS) / 0.7) ** 2
"""Variance of one assessor for one of the others, and how likely before looking."""
_TAILS = 8.0
"""Degrees of freedom of what goes astray in a glass, all notes together."""


@dataclass(frozen=True)
class TrayNote:
    """One note as trays are looked at: its scores with the order taken out, in house points."""

    rows: pd.DataFrame
    points: float
    reliability: float
    told: bool


@dataclass(frozen=True)
class Panel:
    """All glasses of a session over all notes that can tell something.

    Attributes
    ----------
    person, sample, replicate, position, suspected
        Of each glass; positions NaN where not on record.
    scores
        Shape (glasses, notes), NaN for none.
    reliability
        Of each note; the others' means are drawn to their middle by it.
    told
        Notes that the panel told apart.
    """

    people: tuple[str, ...]
    samples: tuple[str, ...]
    person: Codes
    sample: Codes
    replicate: Codes
    position: Vector
    suspected: Flags
    scores: Matrix
    reliability: Vector
    told: Flags

    @classmethod
    def of(cls, notes: Sequence[TrayNote]) -> Panel | None:
        """Lay out a session; None where no note can tell anything."""
        used = [note for note in notes if note.reliability > 0.0 and len(note.rows)]
        if not any(note.told for note in used):
            return None
        parts = [note.rows[_COLUMNS].assign(note=place) for place, note in enumerate(used)]
        rows = pd.concat(parts, ignore_index=True)
        glass = rows.groupby(["assessor", "sample", "replicate"]).ngroup().to_numpy()
        first = rows.iloc[np.unique(glass, return_index=True)[1]]
        scores = np.full((len(first), len(used)), np.nan)
        points = np.array([note.points for note in used])[rows["note"]]
        scores[glass, rows["note"]] = points * rows["score"].to_numpy(dtype=np.float64)
        person, people = pd.factorize(first["assessor"], sort=True)
        sample, samples = pd.factorize(first["sample"], sort=True)
        return cls(
            people=tuple(str(name) for name in people),
            samples=tuple(str(name) for name in samples),
            person=person.astype(np.intp),
            sample=sample.astype(np.intp),
            replicate=first["replicate"].to_numpy(dtype=np.intp),
            position=first["position"].to_numpy(dtype=np.float64),
            suspected=(first["status"] == "swap_suspected").to_numpy(),
            scores=scores,
            reliability=np.array([note.reliability for note in used]),
            told=np.array([note.told for note in used]),
        )

    @cached_property
    def others(self) -> Stack:
        """What each assessor's others make of each sample, shape (people, samples, notes)."""
        shape = (len(self.people), len(self.samples), self.scores.shape[1])
        sums, n = np.zeros(shape), np.zeros(shape)
        np.add.at(sums, (self.person, self.sample), np.nan_to_num(self.scores))
        np.add.at(n, (self.person, self.sample), ~np.isnan(self.scores))
        means = np.divide(sums, n, out=np.full(shape, np.nan), where=n > 0)
        found = np.empty(shape)
        for note in range(shape[2]):
            table = means[:, :, note]
            there = ~np.isnan(table).all(axis=1)
            levels = np.zeros(len(table))
            levels[there] = additive_levels(table[there])
            found[:, :, note] = means_of_others(table - levels[:, None])
        middle = np.nanmean(found, axis=1, keepdims=True)
        drawn: Stack = np.nan_to_num(self.reliability * (found - middle))
        return drawn

    @cached_property
    def left(self) -> Matrix:
        """What is left of each glass beside the others, levels out; 0 where nothing is known."""
        off = self.scores - self.others[self.person, self.sample]
        return np.nan_to_num(off - self._levels(off)[self.person])

    @cached_property
    def centred(self) -> Matrix:
        """Scores about the level that each assessor has beside the others; NaN for none."""
        off = self.scores - self.others[self.person, self.sample]
        return self.scores - self._levels(off)[self.person]

    def _levels(self, off: Matrix) -> Matrix:
        """Mean of each assessor on each note."""
        shape = (len(self.people), off.shape[1])
        sums, n = np.zeros(shape), np.zeros(shape)
        np.add.at(sums, self.person, np.nan_to_num(off))
        np.add.at(n, self.person, ~np.isnan(off))
        return np.divide(sums, n, out=np.zeros(shape), where=n > 0)

    @cached_property
    def _squares(self) -> Stack:
        """Sum over each assessor's glasses of what is left times itself."""
        n = len(self.people)
        found = np.zeros((n, *(2 * self.left.shape[1:])))
        for code in range(n):
            own = self.left[self.person == code]
            found[code] = own.T @ own
        return found

    def rooted(self, code: int) -> Matrix:
        """What turns the notes of a glass into independent ones, by the noise of the others."""
        glasses = np.bincount(self.person, minlength=len(self.people))
        n = len(self.person) - int(glasses[code])
        covariance = (self._squares.sum(axis=0) - self._squares[code]) / max(n, 1)
        width = len(covariance)
        share = width / (width + n)
        spread = np.maximum(np.diag(covariance), 1e-6)
        drawn = (1.0 - share) * covariance + share * np.diag(spread)
        drawn += np.diag(1e-6 * spread)
        found: Matrix = np.linalg.inv(np.linalg.cholesky(drawn)).T
        return found


_COLUMNS = ["assessor", "sample", "replicate", "position", "status", "score"]


@dataclass(frozen=True)
class Tray:
    """One assessor's glasses and how likely each is as any sample.

    Attributes
    ----------
    glasses
        Places in the panel, by position where that is known.
    likely
        Log likelihood of each glass as each sample, shape (widths, glasses, samples).
    """

    panel: Panel
    code: int
    glasses: Codes
    likely: Stack

    @classmethod
    def of(cls, panel: Panel, code: int) -> Tray:
        """Weigh each glass of an assessor as each sample."""
        glasses = np.flatnonzero(panel.person == code)
        glasses = glasses[np.argsort(panel.position[glasses], kind="stable")]
        off = panel.centred[glasses][:, None] - panel.others[code][None]
        root = panel.rooted(code)
        distance = np.sum((np.nan_to_num(off) @ root) ** 2, axis=2)
        width = off.shape[2]
        scaled = distance[None] / (_TAILS * _WIDTHS[:, None, None])
        likely = -0.5 * (_TAILS + width) * np.log1p(scaled)
        likely -= 0.5 * width * np.log(_WIDTHS)[:, None, None]
        return cls(panel, code, glasses, likely)

    @property
    def samples(self) -> Codes:
        """What each glass is recorded as."""
        return self.panel.sample[self.glasses]

    @cached_property
    def places(self) -> Vector | None:
        """Where each glass stood; None where that is not on record for all."""
        found = self.panel.position[self.glasses]
        distinct = len(np.unique(found)) == len(found)
        return found if distinct and not np.isnan(found).any() else None

    @cached_property
    def by_width(self) -> Vector:
        """Log likelihood as recorded, for each width."""
        own = self.likely[:, np.arange(len(self.glasses)), self.samples]
        found: Vector = own.sum(axis=1)
        return found

    def summed(self, by_width: Floats) -> Floats:
        """Log likelihoods over all widths, from those for each along the first axis."""
        prior = _WIDTH_PRIOR.reshape(-1, *(1,) * (by_width.ndim - 1))
        found: Floats = logsumexp(by_width + prior, axis=0)
        return found

    @cached_property
    def as_recorded(self) -> float:
        """Log likelihood as recorded."""
        return float(self.summed(self.by_width))

    def pairs(self) -> Matrix:
        """Log likelihood of each two glasses exchanged for the tray as recorded."""
        each = self.likely[:, :, self.samples]
        own = np.diagonal(each, axis1=1, axis2=2)
        gain = each + np.swapaxes(each, 1, 2) - own[:, :, None] - own[:, None, :]
        found: Matrix = self.summed(self.by_width[:, None, None] + gain) - self.as_recorded
        return found

    def whole_samples(self) -> Matrix:
        """The same for all glasses of each two samples."""
        n = len(self.panel.samples)
        total = np.zeros((len(_WIDTHS), n, n))
        for glass, sample in enumerate(self.samples.tolist()):
            total[:, sample] += self.likely[:, glass]
        own = np.diagonal(total, axis1=1, axis2=2)
        gain = total + np.swapaxes(total, 1, 2) - own[:, :, None] - own[:, None, :]
        found: Matrix = self.summed(self.by_width[:, None, None] + gain) - self.as_recorded
        return found

    def as_samples(self, samples: Codes) -> float:
        """Log likelihood of the glasses as other samples for the tray as recorded."""
        each = self.likely[:, np.arange(len(self.glasses)), samples]
        return float(self.summed(each.sum(axis=1))) - self.as_recorded

    def fit(self, samples: Codes) -> float:
        """Correlation with the others over all notes, each for its noise, the glasses as these."""
        spread = np.sqrt(np.maximum(np.mean(self.panel.left**2, axis=0), 1e-9))
        others = self.panel.others[self.code][samples] / spread
        own = self.panel.centred[self.glasses] / spread
        there = ~np.isnan(own)
        own = np.where(there, own, 0.0)
        own = own - np.where(there, own.sum(axis=0) / np.maximum(there.sum(axis=0), 1), 0.0)
        others = np.where(there, others, 0.0)
        length = float(np.sqrt(np.sum(own**2) * np.sum(others**2)))
        return float(np.sum(own * others)) / length if length > 0.0 else 0.0

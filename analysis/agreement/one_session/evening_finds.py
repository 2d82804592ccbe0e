"""What one person found: first, most clearly, and nearly alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ...array_types import Matrix, Vector
from ..indices.layout import ScoreLayout
from ..settings import AgreementSettings
from ..verdict.evening import AloneOnNote, Clearest, Earliest
from .result import AssessorAgreement

_STANDS_OUT = 1.0
"""A note stands out in a glass from one sd of the samples above their mean on."""
_NEARLY_ALONE = 0.25
"""At most so large a share of the others found the note there at all."""


@dataclass(frozen=True)
class OwnTray:
    """One person beside the others on one note; NaN where either is missing."""

    samples: tuple[str, ...]
    own: Vector
    others: Vector
    level: float

    @classmethod
    def of(cls, rows: pd.DataFrame, assessor: str) -> OwnTray | None:
        """Lay out one note; None when the person or everybody else did not score it."""
        layout = ScoreLayout.of(rows)
        if assessor not in layout.assessors or layout.n_assessors < 2:
            return None
        row = layout.assessors.index(assessor)
        adjusted: Matrix = layout.adjusted
        level = float(np.nanmean(layout.means[row] - adjusted[row]))
        return cls(layout.samples, layout.means[row], layout.others[row], level)

    @property
    def differences(self) -> Vector:
        """Own scores less the others', own level taken out."""
        found: Vector = self.own - self.level - self.others
        return found


def earliest(
    apart: Sequence[tuple[str, OwnTray]], tests: pd.DataFrame, assessor: str, least: float
) -> Earliest | None:
    """The first glass with a note well above its mean for the person and for the others."""
    places = tests[tests["assessor"] == assessor].groupby("sample")["position"].min()
    best: Earliest | None = None
    for name, tray in apart:
        out = (_standing(tray.own) > _STANDS_OUT) & (_standing(tray.others) > _STANDS_OUT)
        out &= np.nan_to_num(tray.own) >= least
        for at in np.flatnonzero(out):
            place = places.get(tray.samples[at], np.nan)
            if np.isnan(place) or (best is not None and place >= best.place):
                continue
            own, others = float(tray.own[at]), float(tray.others[at])
            best = Earliest(name, tray.samples[at], int(place), own, others)
    return best


def _standing(values: Vector) -> Vector:
    sd = float(np.nanstd(values))
    found: Vector = (values - np.nanmean(values)) / sd if sd > 0 else np.zeros(len(values))
    return np.nan_to_num(found)


def clearest(person: AssessorAgreement, apart: Mapping[str, OwnTray]) -> Clearest | None:
    """The note on which the person follows the others most surely."""
    sure = [
        (part.slope / part.slope_se, part.descriptor)
        for part in person.notes
        if part.descriptor in apart and part.slope and part.slope_se
    ]
    if not sure or max(sure)[0] <= 1.0:
        return None
    name = max(sure)[1]
    tray = apart[name]
    both = np.where(np.isnan(tray.others), np.nan, tray.own)
    low, high = int(np.nanargmin(both)), int(np.nanargmax(both))
    return Clearest(
        name,
        (tray.samples[low], float(tray.own[low]), float(tray.others[low])),
        (tray.samples[high], float(tray.own[high]), float(tray.others[high])),
    )


def alone(
    names: Sequence[str], tests: pd.DataFrame, assessor: str, settings: AgreementSettings
) -> AloneOnNote | None:
    """A note found in every glass of a repeated sample where hardly anybody else found it."""
    best: AloneOnNote | None = None
    for name in names:
        rows = tests[tests["descriptor"] == name]
        own = rows[rows["assessor"] == assessor].groupby("sample")["score"].agg(["min", "size"])
        others = rows[rows["assessor"] != assessor]
        there = (others["score"] > others["scale_low"]).groupby(others["sample"]).mean()
        twice = own[(own["size"] > 1) & (own["min"] >= settings.tolerance)]
        for sample, least in twice["min"].items():
            rare = float(there.get(sample, 1.0)) <= _NEARLY_ALONE
            if rare and (best is None or least > best.own):
                best = AloneOnNote(name, str(sample), float(least))
    return best

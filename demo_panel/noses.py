"""The nine assessors of Sallow Weir and how each turns a smell into a number."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.random import RandomState

from demo_panel.words import NAMES

MIDDLE = 25.0
"""Scales are used wider or narrower around this score."""


@dataclass(frozen=True)
class Nose:
    """An assessor: points above the others, width of scale used, scatter, share of evenings."""

    code: str
    offset: float
    scale: float
    scatter: float
    comes: float
    joined_on: date = date(2020, 9, 1)
    blind_to: str = ""
    drifts_from: date | None = None


NOSES = (
    Nose("Rowan", 0.0, 1.00, 5.5, 0.97),
    Nose("Teal", 5.0, 1.05, 6.5, 0.94, drifts_from=date(2024, 6, 1)),
    Nose("Alder", -5.0, 0.72, 5.5, 0.92),
    Nose("Wren", 2.0, 1.35, 8.0, 0.92),
    Nose("Hazel", -2.0, 0.96, 4.5, 0.97),
    Nose("Plover", 7.0, 0.88, 11.0, 0.86),
    Nose("Aspen", -3.0, 1.10, 6.5, 0.90),
    Nose("Linnet", 1.0, 1.00, 6.0, 0.93, blind_to="pressed violets"),
    Nose("Sorrel", 2.0, 0.88, 7.5, 0.90, joined_on=date(2022, 3, 1)),
)
SMELL_MUST = frozenset({"Rowan", "Wren", "Hazel", "Linnet"})
"""The others notice nothing of a damp cellar."""
DRIFT_POINTS_A_YEAR = 4.0
DISAGREEMENT = 3.0
EVENING = 2.0


@dataclass(frozen=True)
class Habits:
    """How each assessor differs on each note: points above, and width, by (code, note)."""

    above: dict[tuple[str, str], float]
    width: dict[tuple[str, str], float]


def draw_habits(rng: RandomState) -> Habits:
    """Draw the standing differences between assessors, note by note."""
    keys = [(nose.code, note) for nose in NOSES for note in NAMES]
    above = dict(zip(keys, rng.normal(0.0, 2.5, len(keys)).tolist(), strict=True))
    width = dict(zip(keys, np.exp(rng.normal(0.0, 0.08, len(keys))).tolist(), strict=True))
    return Habits(above, width)


def smelt(nose: Nose, note: str, truth: float) -> float:
    """Return what reaches this nose of a note that stands at *truth* for the panel."""
    if note == nose.blind_to:
        return 0.0
    if note == "damp cellar" and nose.code not in SMELL_MUST:
        return 0.0
    return max(truth, 0.0)


def drift(nose: Nose, on: date) -> float:
    """Return the points an assessor has moved upward by a day."""
    if nose.drifts_from is None or on < nose.drifts_from:
        return 0.0
    return DRIFT_POINTS_A_YEAR * (on - nose.drifts_from).days / 365.25


def score(
    nose: Nose, note: str, truth: float, *, shift: float, habits: Habits, rng: RandomState
) -> int:
    """Return the number an assessor sets on the line, 0 where nothing is noticed.

    *shift* is what the evening and the glass add for this assessor. Offsets fade out towards
    the empty end: who smells nothing mostly says 0, whatever their habits are.
    """
    there = smelt(nose, note, truth)
    width = nose.scale * habits.width[nose.code, note]
    above = nose.offset + habits.above[nose.code, note] + shift
    presence = there / (there + 6.0)
    centre = there + (above + (width - 1.0) * (there - MIDDLE)) * presence
    value = centre + rng.normal(0.0, nose.scatter) * (0.35 + 0.65 * presence)
    threshold = 3.0 if there > 0 else 7.0
    return 0 if value < threshold else min(100, round(value))

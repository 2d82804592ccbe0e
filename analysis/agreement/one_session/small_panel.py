"""What few people can be asked to decide."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..indices.repeat import Repeat
from ..settings import AgreementSettings
from ..verdict import SmallPanelFacts, small_panel_verdict
from .notes import COINCIDENCE, LEAST_REPEATS, Note


@dataclass(frozen=True)
class SmallPanel:
    """The verdict on a panel too small to judge anybody.

    Attributes
    ----------
    repeats_within
        By assessor: points on the 0-100 line within which two nosings of one glass lie 19
        times in 20, all notes together; nobody with fewer than four repeats is in it.
    repeaters
        Those who repeat closer than the differences the house cares for.
    seen_difference
        Difference in points that this panel sees four times in five, on the middle note.
    """

    n_assessors: int
    repeats_within: dict[str, float]
    repeaters: tuple[str, ...]
    seen_difference: float | None
    sentence: str
    next_action: str


def small_panel(
    names: Sequence[str], notes: Sequence[Note], settings: AgreementSettings
) -> SmallPanel | None:
    """Say who repeats, what this panel can see and what that is good for; None for a larger one."""
    if len(names) >= settings.small_panel:
        return None
    within = {name: found for name in names if (found := repeats_within(name, notes)) is not None}
    seen = [
        note.figures.seen_difference * note.per_point
        for note in notes
        if note.figures.seen_difference is not None
    ]
    middle = float(np.median(seen)) if seen else None
    limit = _REPEATS * settings.tolerance
    repeaters = tuple(name for name, value in within.items() if value <= limit)
    hidden = any(note.n_hidden for note in notes)
    facts = SmallPanelFacts(len(names), tuple(names), within, repeaters, middle, hidden)
    said = small_panel_verdict(facts, settings)
    return SmallPanel(
        n_assessors=len(names),
        repeats_within=within,
        repeaters=repeaters,
        seen_difference=middle,
        sentence=said.sentence,
        next_action=said.next_action,
    )


_REPEATS = 2.0
"""Two nosings within twice the tolerance still tell a glass from one that is plainly unlike."""


def repeats_within(name: str, notes: Sequence[Note]) -> float | None:
    """Over all notes; nothing from so few pairs that two lucky ones would say "within 0"."""
    pooled = Repeat()
    for note in notes:
        own = note.repeat.assessors.get(name, Repeat())
        pooled = pooled.plus(Repeat(own.squares * note.per_point**2, own.df))
    if pooled.sd is None or pooled.df < LEAST_REPEATS:
        return None
    return float(COINCIDENCE * pooled.sd)


@dataclass(frozen=True)
class Twice:
    """How near one assessor comes to a glass nosed before, or that the codes still hide it."""

    within: float | None
    hidden: bool

    @classmethod
    def of(cls, name: str, notes: Sequence[Note]) -> Twice:
        """Pool one person over the notes."""
        return cls(repeats_within(name, notes), any(note.n_hidden for note in notes))

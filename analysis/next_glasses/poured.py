"""Glasses as they are told: names for rows, and the casks that they come from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ..array_types import Vector
from .fill import Poured
from .result import CaskToPour, Glass, Reason
from .room import BLEND, Room


def glasses_of(
    poured: Sequence[Poured],
    names: Sequence[str],
    room: Room,
    reasons: Mapping[int, Reason],
    saves: float,
) -> tuple[Glass, ...]:
    """Name the people and casks of some glasses, and share out among them what they save."""
    return tuple(
        Glass(
            assessor=room.assessors[one.assessor],
            cask=None if names[one.row] == BLEND else names[one.row],
            sample=room.samples.get(names[one.row]),
            value=float(value),
            reason=reasons[one.row],
        )
        for one, value in zip(poured, shared_out(poured, saves), strict=True)
    )


def shared_out(poured: Sequence[Poured], saves: float) -> Vector:
    """What each glass has of what a session saves, by what it added as the seats were filled.

    The filling weighs each cask by itself, the saving is that of all decisions together: so what
    the glasses added adds up to something else. Where none added anything, all have the same.
    """
    added = np.array([max(one.value, 0.0) for one in poured], dtype=np.float64)
    if added.sum() <= 0.0:
        added = np.ones(len(poured))
    found: Vector = saves * added / added.sum()
    return found


def added_by(poured: Sequence[Poured]) -> float:
    """What the glasses added together as the seats were filled."""
    return sum(max(one.value, 0.0) for one in poured)


def casks_to_pour(glasses: Sequence[Glass], room: Room) -> tuple[CaskToPour, ...]:
    """The casks of some glasses, the one that adds most first."""
    by: dict[str | None, list[Glass]] = {}
    for glass in glasses:
        by.setdefault(glass.cask, []).append(glass)
    found = [
        CaskToPour(
            cask=name,
            sample=mine[0].sample,
            n_glasses=len(mine),
            value=sum(glass.value for glass in mine),
            to_draw=mine[0].sample is None,
            shed=None if name is None or mine[0].sample else room.sheds.get(name),
            reason=mine[0].reason,
        )
        for name, mine in by.items()
    ]
    return tuple(sorted(found, key=lambda one: -one.value))

"""Glasses as they are told: names for rows, and the casks that they come from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from .fill import Poured
from .result import CaskToPour, Glass, Reason
from .room import BLEND, Room


def glasses_of(
    poured: Sequence[Poured], names: Sequence[str], room: Room, reasons: Mapping[int, Reason]
) -> tuple[Glass, ...]:
    """Name the people and casks of some glasses."""
    return tuple(
        Glass(
            assessor=room.assessors[one.assessor],
            cask=None if names[one.row] == BLEND else names[one.row],
            sample=room.samples.get(names[one.row]),
            value=one.value,
            reason=reasons[one.row],
        )
        for one in poured
    )


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

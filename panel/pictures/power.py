"""Pictures of what glasses save."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.losses import what_a_glass_saves

if TYPE_CHECKING:
    from analysis.next_glasses import PowerTable
    from analysis.pictures import Plane


MOST = 6
"""Notes that are drawn, those on which a choice is dearest: the table has all."""


def saved_by_glasses(found: PowerTable) -> tuple[Plane, ...]:
    """Return the loss against glasses, a plane a note, the dearest first."""
    hardest = sorted(found.rows_of, key=lambda row: -row.loss)
    notes = list(dict.fromkeys(row.note for row in hardest))[:MOST]
    planes = (what_a_glass_saves(found, note) for note in notes)
    return tuple(plane for plane in planes if plane is not None)

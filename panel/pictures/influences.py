"""Pictures of what moves a note."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.effects import what_moves

if TYPE_CHECKING:
    from analysis.influences import Influences
    from analysis.pictures import Picture


def moved(result: Influences, descriptor: str) -> tuple[Picture, ...]:
    """Return the effects on one note around nothing; none where nothing is told of it."""
    told = any(effect.estimate is not None for effect in result.of(descriptor))
    return (what_moves(result, descriptor),) if told else ()

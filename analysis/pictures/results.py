"""Which pictures a result has by itself, without records beside it."""

from __future__ import annotations

from collections.abc import Sequence

from ..ageing import Ageing
from ..agreement import Agreement
from ..influences import Influences
from ..profile import Profile
from ..target import Match
from ..vatting import VattingPlan
from .against import chances
from .effects import what_moves
from .found import sign_at, what_was_found
from .growth import how_it_grows
from .marks import Picture, Plane
from .store import what_is_alike
from .vatted import litres_of, notes_of

MOST = 3
"""Curves and notes that are drawn unasked."""


def pictures_of_result(result: object) -> Sequence[Picture | Plane]:
    """Return the pictures of a result; none where it has none."""
    if isinstance(result, Agreement):
        return [what_was_found(result)]
    if isinstance(result, Match):
        return [chances(result)] if result.casks else []
    if isinstance(result, VattingPlan):
        parts = result.mixture.parts
        signs = {part.filling: sign_at(at) for at, part in enumerate(parts)}
        return [notes_of(result.mixture, target=result.target, said=result.sentence)] + (
            [litres_of(parts, signs)] if parts else []
        )
    if isinstance(result, Influences):
        told = {effect.descriptor for effect in result.effects if effect.estimate is not None}
        notes = [note.descriptor for note in result.notes if note.descriptor in told]
        return [what_moves(result, note) for note in notes[:MOST]]
    if isinstance(result, Ageing):
        drawn = [how_it_grows(curve) for curve in result.curves]
        return [plane for plane in drawn if plane is not None][:MOST]
    return _alike(result) if isinstance(result, Profile) else []


def _alike(result: Profile) -> list[Picture]:
    rows = result.estimates
    known = rows[rows["estimate"].notna() & rows["cask"].notna()]
    found = what_is_alike(known) if len(known) else None
    return [] if found is None else [found]

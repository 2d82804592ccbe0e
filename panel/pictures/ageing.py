"""Pictures of growth: the curves of an answer, with what its target asks and when it is met."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analysis.pictures.growth import how_it_grows

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Curve, Window
    from analysis.pictures import Plane
    from analysis.target import TargetLine

MOST = 12


def grown(db: Session, found: Ageing) -> tuple[Plane, ...]:
    """Return the first curves that have points, under the target that all windows are of."""
    targets = sorted({window.target for window in found.windows})
    aims = _lines(db, targets[0]) if len(targets) == 1 else {}
    drawn = (
        how_it_grows(curve, line=aims.get(curve.descriptor), window=_window(found, curve))
        for curve in found.curves
    )
    return tuple(plane for plane in drawn if plane is not None)[:MOST]


def _lines(db: Session, target: str) -> dict[str, TargetLine]:
    from panel.frames import target_of

    return {line.descriptor: line for line in target_of(db, target).lines}


def _window(found: Ageing, curve: Curve) -> Window | None:
    own = [one for one in found.windows if one.cask == curve.cask]
    return own[0] if len(own) == 1 else None

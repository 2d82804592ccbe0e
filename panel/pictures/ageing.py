"""Pictures of growth: the curves of an answer, with what its target asks and when it is met."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from analysis.pictures.growth import how_it_grows
from panel.pictures.cells import plane_alone

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Curve, Window
    from analysis.pictures import Plane
    from analysis.target import TargetLine

MOST = 12


def grown(db: Session, found: Ageing) -> tuple[Plane, ...]:
    """Return curves that have points, first those that the one target asks of."""
    targets = sorted({window.target for window in found.windows})
    aims = _lines(db, targets[0]) if len(targets) == 1 else {}
    first = sorted(found.curves, key=lambda curve: curve.descriptor not in aims)
    drawn = []
    for curve in first:
        line = aims.get(curve.descriptor)
        window = _window(found, curve) if line is not None or not aims else None
        plane = how_it_grows(curve, line=line, window=window)
        drawn += [] if plane is None else [plane]
    if len(drawn) > MOST:
        last = drawn[MOST - 1]
        told = (
            f"{last.says} Drawn are {MOST} of {len(drawn)} curves: name notes or casks for others."
        )
        drawn[MOST - 1] = replace(last, says=told)
    return tuple(drawn[:MOST])


def one_curve(curve: Curve) -> Plane | None:
    """Return one curve by itself; None where it has no points to draw."""
    return how_it_grows(curve)


def curve_cells(curve: Curve, width: int, height: int | None = None) -> list[str]:
    """Return one curve for a terminal, without its words; nothing where it has no points."""
    plane = how_it_grows(curve)
    return [] if plane is None else plane_alone(plane, width, height)


def _lines(db: Session, target: str) -> dict[str, TargetLine]:
    from panel.frames import target_of

    return {line.descriptor: line for line in target_of(db, target).lines}


def _window(found: Ageing, curve: Curve) -> Window | None:
    own = [one for one in found.windows if one.cask == curve.cask]
    return own[0] if len(own) == 1 else None

"""What does another glass save: the loss of a choice against the glasses poured."""

from __future__ import annotations

from ..digits import in_digits
from ..next_glasses import LossAt, PowerTable
from .growth import LINE
from .marks import Facet, Firm, Legend, Plane, Shape, Stretch

_LEAST = 2


def what_a_glass_saves(found: PowerTable, note: str) -> Plane | None:
    """Return the loss of a choice on one note over glasses; None where it has no curve.

    Each design is a dot on the curve.
    """
    points = [one for one in found.losses if one.note == note]
    if len(points) < _LEAST:
        return None
    across = tuple(float(one.glasses) for one in points)
    value = tuple(one.loss for one in points)
    designs = [row for row in found.rows_of if row.note == note]
    return Plane(
        title=f"What does another glass save: {note}?",
        says=_said(found, points),
        across=Facet(across[0], across[-1], unit="glasses"),
        up=Facet(0.0, max(1.0, float(-(-max(value) // 1))), unit="loss, points"),
        curve=(Stretch(across, value, value, value, Firm.READ),),
        dots=tuple(
            (float(row.glasses), row.loss, row.loss, row.loss)
            for row in designs
            if across[0] <= row.glasses <= across[-1]
        ),
        legend=(
            Legend(Shape.LETTERS, "loss of the choice", text=LINE[Firm.READ]),
            Legend(Shape.POINT, "a design of the table"),
        ),
    )


def _said(found: PowerTable, points: list[LossAt]) -> str:
    first, last = points[0], points[-1]
    return (
        f"Choosing the best {found.best} of {found.casks} casks is off by "
        f"{in_digits(first.loss, '.1f')} points "
        f"on average after {in_digits(first.glasses, ',')} glasses and by "
        f"{in_digits(last.loss, '.1f')} after "
        f"{in_digits(last.glasses, ',')}, all dealt evenly over the casks."
    )

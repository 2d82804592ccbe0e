"""Is anybody moving: a row a person, a dot a session, the latest apart from those before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from ..agreement import Drift
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

LATEST = 3
"""Sessions that count as now."""
LEAST_BEFORE = 3
"""Sessions without which nothing is called usual."""
PANEL = "the panel"
PANEL_ROW = "The panel's row is the hidden reference, off its middle."


def is_anybody_moving(
    levels: Mapping[str, Sequence[float]], panel: Drift | None, said: str
) -> Picture:
    """Return where everybody stood session by session, and the panel on the hidden reference.

    Parameters
    ----------
    levels
        By person points above or below the others on the same glasses, oldest session first.
    panel
        The hidden reference for everybody together; the others on the same glass say nothing of
        a panel that moves as one.
    """
    lines = {who: list(values) for who, values in levels.items() if values}
    if panel is not None and panel.points:
        lines = {PANEL: [point.off for point in panel.points], **lines}
    reach = max([10.0, *(abs(value) for values in lines.values() for value in values)])
    reach = 5.0 * -(-reach // 5.0)
    marks = [mark for row, values in enumerate(lines.values()) for mark in _marks(row, values)]
    return Picture(
        title="Is anybody moving?",
        says=f"{said} {PANEL_ROW}" if PANEL in lines else said,
        rows=tuple(Row(who, _beside(values)) for who, values in lines.items()),
        facets=(Facet(-reach, reach, unit="points off the others"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.POINT, f"one of the last {LATEST} sessions", Sign.FULL),
            Legend(Shape.POINT, "a session before", Sign.HOLLOW),
            Legend(Shape.EDGE, "usual before them"),
        ),
    )


def _split(values: Sequence[float]) -> tuple[Sequence[float], Sequence[float]]:
    return values[:-LATEST], values[-LATEST:]


def _marks(row: int, values: Sequence[float]) -> list[Mark]:
    before, latest = _split(values)
    found = [Mark(Shape.POINT, row, value, sign=Sign.HOLLOW) for value in before]
    if len(before) >= LEAST_BEFORE:
        found.append(Mark(Shape.EDGE, row, median(before)))
    return found + [Mark(Shape.POINT, row, value, sign=Sign.FULL) for value in latest]


def _beside(values: Sequence[float]) -> str:
    before, latest = _split(values)
    if len(before) < LEAST_BEFORE:
        count = len(values)
        return f"{count} session{'' if count == 1 else 's'} only"
    return f"now {round(median(latest)):+d}, usual {round(median(before)):+d}"

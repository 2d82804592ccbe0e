"""Is anybody moving: a row a person, a dot a session, the latest apart from those before."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from ..agreement import Drift
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

LATEST = 3
"""Sessions that count as now."""
LEAST_BEFORE = 3
"""Sessions without which nothing is called usual."""
PANEL = "the panel"
PANEL_ROW = "The panel's row is the hidden reference, off its middle."


def is_anybody_moving(people: Sequence[Drift], panel: Drift | None, said: str) -> Picture:
    """Return where everybody stood session by session, and the panel on the hidden reference.

    Parameters
    ----------
    people
        Charts over all notes together, in the order they are drawn.
    panel
        The hidden reference for everybody together; the others on the same glass say nothing of
        a panel that moves as one.
    """
    charts = {chart.assessor or PANEL: chart for chart in people if chart.points}
    if panel is not None and panel.points:
        charts = {PANEL: panel, **charts}
    reach = max([10.0, *(abs(point.off) for chart in charts.values() for point in chart.points)])
    reach = 5.0 * -(-reach // 5.0)
    marks = [mark for row, chart in enumerate(charts.values()) for mark in _marks(row, chart)]
    return Picture(
        title="Is anybody moving?",
        says=f"{said} {PANEL_ROW}" if PANEL in charts else said,
        rows=tuple(Row(who, _beside(chart)) for who, chart in charts.items()),
        facets=(Facet(-reach, reach, unit="points off the others, own place taken out"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.POINT, f"one of the last {LATEST} sessions", Sign.FULL),
            Legend(Shape.POINT, "a session before", Sign.HOLLOW),
            Legend(Shape.EDGE, "usual before them, or before somebody moved"),
        ),
    )


def _split(values: Sequence[float]) -> tuple[Sequence[float], Sequence[float]]:
    return values[:-LATEST], values[-LATEST:]


def _marks(row: int, chart: Drift) -> list[Mark]:
    before, latest = _split([point.off for point in chart.points])
    found = [Mark(Shape.POINT, row, value, sign=Sign.HOLLOW) for value in before]
    usual = _usual(chart)
    if usual is not None:
        found.append(Mark(Shape.EDGE, row, usual))
    return found + [Mark(Shape.POINT, row, value, sign=Sign.FULL) for value in latest]


def _usual(chart: Drift) -> float | None:
    """Where somebody stood before they moved, or before the latest sessions."""
    if chart.verdict is not None:
        return chart.points[0].average
    before, _ = _split([point.off for point in chart.points])
    return median(before) if len(before) >= LEAST_BEFORE else None


def _beside(chart: Drift) -> str:
    if chart.moved is not None:
        return f"{round(chart.moved.points):+d} since {chart.since}"
    usual, values = _usual(chart), [point.off for point in chart.points]
    if usual is None:
        count = len(values)
        return f"{count} session{'' if count == 1 else 's'} only"
    return f"now {round(median(_split(values)[1])):+d}, usual {round(usual):+d}"

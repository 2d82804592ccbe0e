"""How does it grow, and when is it ready: a curve with what was read of the casks."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from ..age_words import age_figure
from ..ageing import Curve, Point, Window
from ..ageing.result import Mark
from ..target import TargetLine
from .marks import Facet, Firm, Legend, Plane, Ready, Shape, Sign, Stretch

_YEAR = 365.25
_FIRM = {Mark.NOSED: Firm.READ, Mark.RECKONED: Firm.NEAR, Mark.BEYOND: Firm.BEYOND}
_ORDER = tuple(Firm)
LINE = {Firm.READ: "━", Firm.NEAR: "╍", Firm.BEYOND: "·"}
"""How a curve is told apart in a legend."""
TOLD = {
    Firm.READ: "ages nosed, interval shaded",
    Firm.NEAR: "a little past them",
    Firm.BEYOND: "beyond, not known",
}


def how_it_grows(
    curve: Curve, *, line: TargetLine | None = None, window: Window | None = None
) -> Plane | None:
    """Return a curve of one note over age, its draws, and the aim; None where it has no points.

    Parameters
    ----------
    line
        What a target asks of the note: a band across.
    window
        When the cask meets the target: a bar below, on the line of ages.
    """
    points = curve.points
    if len(points) < 2:
        return None
    whose = f"cask {curve.cask}" if curve.cask else curve.style
    stretches = _stretches(points)
    drawn = {stretch.firm for stretch in stretches}
    legend = [Legend(Shape.LETTERS, TOLD[firm], text=LINE[firm]) for firm in Firm if firm in drawn]
    legend += [Legend(Shape.POINT, "a draw of it", Sign.HOLLOW)] if curve.readings else []
    legend += [Legend(Shape.BAND, "what the target asks")] if line else []
    return Plane(
        title=f"How does {curve.descriptor} grow: {whose}?",
        says=_said(curve),
        across=Facet(points[0].age_years, points[-1].age_years, unit="years"),
        up=_line_up(curve, line),
        curve=tuple(stretches),
        dots=tuple((r.age_years, r.reading, r.low, r.high) for r in curve.readings),
        aim=None if line is None else (line.aim - line.tolerance, line.aim + line.tolerance),
        ready=None if window is None else _ready(points, window),
        legend=tuple(legend),
    )


def _said(curve: Curve) -> str:
    if curve.reason:
        return curve.reason
    if curve.ages_known is None:
        return "Nothing of this wood was nosed."
    first, last = map(age_figure, curve.ages_known)
    return (
        f"Of {curve.wood} something can be said from {first} to {last} years: ages at which casks "
        f"of it were nosed, and a little past them. The curve rests on all casks nosed; "
        f"{_own_part(curve)}."
    )


def _own_part(curve: Curve) -> str:
    """What of it is of the cask or the style itself."""
    if curve.cask is None:
        return f"of this style: {curve.n_casks}, nosed at more than one age: {curve.n_again}"
    if not curve.readings:
        return f"{curve.cask} itself was never nosed on this note"
    ages = dict.fromkeys(age_figure(reading.age_years) for reading in curve.readings)
    return f"{curve.cask} itself was nosed at {' and '.join(ages)} years"


def _line_up(curve: Curve, line: TargetLine | None) -> Facet:
    known = [point for point in curve.points if point.known] or list(curve.points)
    values = [value for point in known for value in (point.low, point.high)]
    values += [point.estimate for point in curve.points]
    values += [reading.reading for reading in curve.readings]
    values += [] if line is None else [line.aim - line.tolerance, line.aim + line.tolerance]
    low = max(10.0 * (min(values) // 10), 0.0)
    high = min(10.0 * -(-max(values) // 10), 100.0)
    return Facet(low, max(high, low + 10.0), unit=f"{curve.descriptor}, points")


def _firm(point: Point) -> Firm:
    return _FIRM[point.mark]


def _stretches(points: Sequence[Point]) -> list[Stretch]:
    """Pieces of the curve that are known or not; each begins where the one before it ended."""
    pieces = groupby(pairwise(points), key=lambda pair: max(map(_firm, pair), key=_ORDER.index))
    found = []
    for firm, pairs in pieces:
        steps = list(pairs)
        own = [steps[0][0], *(pair[1] for pair in steps)]
        found.append(
            Stretch(
                tuple(point.age_years for point in own),
                tuple(point.estimate for point in own),
                tuple(point.low for point in own),
                tuple(point.high for point in own),
                firm,
            )
        )
    return found


def _ready(points: Sequence[Point], window: Window) -> Ready | None:
    dated = [point for point in points if point.on is not None]
    if window.opens is None or window.closes is None or not dated:
        return None
    start = dated[0]
    ages = [
        start.age_years + (day - start.on).days / _YEAR
        for day in (window.opens, window.closes)
        if start.on is not None
    ]
    further = window.closes == window.looked_until
    more = " or later: nothing is said beyond" if further else ""
    return Ready(ages[0], ages[1], f"ready {window.opens} to {window.closes}{more}", further)

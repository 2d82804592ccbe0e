"""Does smoke burst or linger? The course of a note over a minute, one plane a sample.

The line is drawn from the mean burst and the mean linger, for parameters are averaged and curves
never. Dots are what was said near each second, for the eye only: each assessor's answers are
stretched to the panel's greatest, so that who says little is seen like who says much.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np

from ..traces.components import shapes
from ..traces.parameters import PROMPTS_S
from ..traces.result import GivenAt, SampleTraced, Traces
from .marks import Facet, Firm, Legend, Plane, Shape, Sign, Stretch

STEPS = 61
LEGEND = (
    Legend(Shape.LETTERS, "burst and linger together, by their means", text="━"),
    Legend(
        Shape.POINT, "half of the answers lie along the upright, the middle one here", Sign.HOLLOW
    ),
)


def burst_or_linger(found: Traces) -> tuple[Plane, ...]:
    """Return a plane for each sample of which the note was perceived; all have the same lines."""
    told = [one for one in found.samples if one.means.burst.mean is not None]
    dots = {one.sample: _dots(one.sample, found.given) for one in told}
    curves = {one.sample: _curve(one) for one in told}
    most = max(
        (value for one in told for value in (*curves[one.sample].value, *_highs(dots[one.sample]))),
        default=0.0,
    )
    up = Facet(0.0, max(10.0, 10.0 * ceil(most / 10.0)), unit=f"{found.note}, points")
    return tuple(
        Plane(
            title=f"Does {found.note} burst or linger in {one.sample}?",
            says=f"{one.verdict.said}.",
            across=Facet(0.0, float(PROMPTS_S[-1]), unit="s after the sip"),
            up=up,
            curve=(curves[one.sample],),
            dots=dots[one.sample],
            legend=LEGEND,
        )
        for one in told
    )


def _curve(one: SampleTraced) -> Stretch:
    seconds = np.linspace(0.0, float(PROMPTS_S[-1]), STEPS)
    course = np.array([one.means.burst.mean or 0.0, one.means.linger.mean or 0.0])
    value = tuple((shapes(seconds, one.means.lag.mean or 0.0) @ course).tolist())
    return Stretch(tuple(seconds.tolist()), value, value, value, Firm.READ)


def _highs(dots: Sequence[tuple[float, float, float, float]]) -> list[float]:
    return [high for *_, high in dots]


def _dots(sample: str, given: Sequence[GivenAt]) -> tuple[tuple[float, float, float, float], ...]:
    """Return second, median and quartiles of what was said nearest to each second asked for."""
    mine = [one for one in given if one.sample == sample]
    greatest: dict[str, float] = {}
    for one in mine:
        greatest[one.assessor] = max(greatest.get(one.assessor, 0.0), one.points)
    usual = float(np.mean([top for top in greatest.values() if top > 0] or [0.0]))
    near: dict[int, list[float]] = {}
    for one in mine:
        second = min(PROMPTS_S, key=lambda asked: abs(asked - one.seconds))
        top = greatest[one.assessor]
        near.setdefault(second, []).append(one.points * usual / top if top > 0 else 0.0)
    found = []
    for second, said in sorted(near.items()):
        middle, low, high = np.quantile(said, (0.5, 0.25, 0.75)).tolist()
        found.append((float(second), middle, low, high))
    return tuple(found)

"""How the SVG pen draws a curve over two lines."""

from __future__ import annotations

from collections.abc import Callable

from ..age_words import age_figure
from ..digits import in_digits
from .marks import Firm, Plane, Sign, Stretch
from .svg_ink import Lines, legend_lines, number, text_width, wrapped

HEIGHT = 230.0
LEFT, RIGHT = 48.0, 8.0
"""What the figures at the left and the last figure below want beside the margin."""
DASHES = {
    Firm.READ: "",
    Firm.NEAR: ' stroke-dasharray="9 4"',
    Firm.BEYOND: ' stroke-dasharray="2 5"',
}
_Place = Callable[[float], float]


def plane_lines(plane: Plane, drawn: Lines, top: float) -> float:
    """Draw curve, dots, aim and figures from `top` on; return where they end."""
    top += 26
    left, right = _ends(drawn)
    drawn.words(
        drawn.margin, top - 12, plane.up.unit, "small faint"
    )  # clear of the uppermost figure
    base = top + HEIGHT

    def x(value: float) -> float:
        share = (value - plane.across.low) / (plane.across.high - plane.across.low)
        return left + (right - left) * min(max(share, 0.0), 1.0)

    def y(value: float) -> float:
        share = (value - plane.up.low) / (plane.up.high - plane.up.low)
        return base - HEIGHT * min(max(share, 0.0), 1.0)

    for quarter in range(5):
        value = plane.up.low + (plane.up.high - plane.up.low) * quarter / 4
        drawn.stroke(f"M{left:g} {number(y(value))}H{right:g}", "rail")
        drawn.words(left - 8, y(value) + 4, in_digits(value, "g"), "small faint", anchor="end")
    if plane.aim is not None:
        low, high = plane.aim
        drawn.box(left, y(high), right - left, y(low) - y(high), "band")
    for stretch in plane.curve:
        _stretch(stretch, drawn, x, y)
    for across, value, low, high in plane.dots:
        drawn.stroke(f"M{number(x(across))} {number(y(low))}V{number(y(high))}", "soft", 1.2)
        drawn.sign(x(across), y(value), Sign.HOLLOW)
    at = _across(plane, drawn, base, x)
    return legend_lines(plane.legend, drawn, at + 22) if plane.legend else at


def _ends(drawn: Lines) -> tuple[float, float]:
    """Where the line across begins and ends."""
    return (32.0 if drawn.narrow else drawn.margin + LEFT), drawn.width - drawn.margin - RIGHT


def _stretch(stretch: Stretch, drawn: Lines, x: _Place, y: _Place) -> None:
    def path(up: tuple[float, ...]) -> list[str]:
        return [f"{number(x(a))} {number(y(v))}" for a, v in zip(stretch.across, up, strict=True)]

    points = path(stretch.value)
    if stretch.known and len(points) > 1:
        over, under = path(stretch.high), path(stretch.low)
        drawn.made.append(f'<path class="band" d="M{"L".join([*over, *reversed(under)])}z"/>')
    kind = "line" if stretch.known else "soft"
    dashes = DASHES[stretch.firm]
    width = 2.2 if stretch.known else 1.4
    drawn.made.append(
        f'<path class="{kind}" stroke-width="{width:g}"{dashes} d="M{"L".join(points)}"/>'
    )


def _across(plane: Plane, drawn: Lines, base: float, x: _Place) -> float:
    for quarter in range(0, 5, 2 if drawn.narrow else 1):
        value = plane.across.low + (plane.across.high - plane.across.low) * quarter / 4
        anchor = {0: "start", 4: "end"}.get(quarter, "middle")
        figure = age_figure(value)
        words = f"{figure} {plane.across.unit}" if quarter == 4 else figure
        drawn.words(x(value), base + 16, words, "small faint", anchor=anchor)
    if plane.ready is None:
        return base + 20
    first, last, words = plane.ready.start, plane.ready.end, plane.ready.words
    drawn.box(x(first), base + 26, x(last) - x(first), 9, "bar")
    if plane.ready.further:
        tip = f"M{number(x(last))} {number(base + 24)}l8 6.5l-8 6.5z"
        drawn.made.append(f'<path class="bar" d="{tip}"/>')
    left, right = _ends(drawn)
    room = right - x(last) - 14
    if text_width(words, 11) <= room:
        drawn.words(x(last) + 14, base + 35, words, "small")
        return base + 40
    lines = wrapped(words, right - left, 11)
    for at, line in enumerate(lines):
        drawn.words(right, base + 50 + 14 * at, line, "small", anchor="end")
    return base + 40 + 14 * len(lines)

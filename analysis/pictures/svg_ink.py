"""Ink, paper and the measure of letters for the SVG pen."""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from unicodedata import category, east_asian_width

from .marks import Legend, Shape, Sign

WIDTH = 860
NARROW = 480.0
"""Drawings narrower than this are for a telephone."""
GAP = 22.0
STYLE = (
    ".oak{font-family:'DejaVu Sans',Verdana,sans-serif;font-size:12px}"
    ".oak .paper{fill:#fbfaf5}.oak text{fill:#1d2117}.oak .title{font-size:15px;font-weight:bold}"
    ".oak .says,.oak .faint{fill:#54584a}.oak .small{font-size:11px}"
    ".oak .strong{font-weight:bold}.oak .rail{stroke:#c9c5b6}.oak .line{stroke:#1d2117;fill:none}"
    ".oak .soft{stroke:#6b6b5e;fill:none}.oak .full{fill:#1d2117}"
    ".oak .hollow{fill:#fbfaf5;stroke:#1d2117;stroke-width:1.6}"
    ".oak .band{fill:#1d2117;fill-opacity:.11}.oak .bar{fill:#6b6b5e}"
    "@media (prefers-color-scheme:dark){.oak .paper{fill:#14170f}.oak text{fill:#e9e6d8}"
    ".oak .says,.oak .faint{fill:#b3b29f}.oak .rail{stroke:#4a4d3f}.oak .line{stroke:#e9e6d8}"
    ".oak .soft{stroke:#a5a595}.oak .full{fill:#e9e6d8}"
    ".oak .hollow{fill:#14170f;stroke:#e9e6d8}.oak .band{fill:#e9e6d8}.oak .bar{fill:#a5a595}}"
)
"""Contrast of 4.5 to 1 or better for text on both papers (WCAG 2.1, 1.4.3); a test reckons it."""
_NARROW, _BROAD, _WIDE = 0.66, 0.95, 1.05
_THIN = frozenset("iljtfrI.,:;'|!()[] -")


def text_width(text: str, size: float = 12.0) -> float:
    """Return about how wide a text is drawn, never less: the font of the reader is not known."""
    return size * sum(map(_width_of, text))


def _width_of(sign: str) -> float:
    if category(sign) in {"Mn", "Me", "Cf"}:
        return 0.0
    if east_asian_width(sign) in {"W", "F"}:
        return _WIDE
    if sign in _THIN:
        return 0.42
    return _BROAD if sign.isupper() or sign in "mwMW%@" else _NARROW


def cut_to(text: str, room: float, size: float = 12.0) -> str:
    """Return a text that fits; what is cut off is told by an ellipsis."""
    if text_width(text, size) <= room:
        return text
    while text and text_width(text + "…", size) > room:
        text = text[:-1]
    return text + "…"


def wrapped(text: str, room: float, size: float) -> list[str]:
    """Return a text as lines that fit; a word too long for one is cut."""
    lines: list[str] = []
    for word in text.split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(joined, size) <= room:
            lines[-1] = joined
        else:
            lines.append(cut_to(word, room, size))
    return lines or [""]


def number(value: float) -> str:
    """Return a coordinate, short and always the same."""
    return f"{value:.1f}".rstrip("0").rstrip(".") if value else "0"


@dataclass
class Lines:
    """The lines of a drawing as they come."""

    made: list[str] = field(default_factory=list)
    width: float = WIDTH

    @property
    def narrow(self) -> bool:
        """Whether names have no room beside their rows."""
        return self.width < NARROW

    @property
    def margin(self) -> float:
        """The blank at both sides."""
        return 4.0 if self.narrow else 16.0

    def words(
        self, x: float, y: float, text: str, kind: str = "", *, anchor: str = "", whole: str = ""
    ) -> None:
        """Write a text; `whole` is told to who points at it where it is cut."""
        told = f' class="{kind}"' if kind else ""
        held = f' text-anchor="{anchor}"' if anchor else ""
        tip = f"<title>{escape(whole)}</title>" if whole and whole != text else ""
        self.made.append(
            f'<text x="{number(x)}" y="{number(y)}"{told}{held}>{escape(text)}{tip}</text>'
        )

    def stroke(self, path: str, kind: str, width: float = 1.0) -> None:
        """Draw a path."""
        self.made.append(f'<path class="{kind}" stroke-width="{number(width)}" d="{path}"/>')

    def box(self, x: float, y: float, width: float, height: float, kind: str) -> None:
        """Fill a box."""
        self.made.append(
            f'<rect class="{kind}" x="{number(x)}" y="{number(y)}" '
            f'width="{number(max(width, 0.8))}" height="{number(height)}"/>'
        )

    def sign(self, x: float, y: float, sign: Sign, *, strong: bool = False) -> None:
        """Draw the sign of a point."""
        r = 5.0 if strong else 4.0
        if sign is Sign.CROSS:
            step = f"{2 * r:g}"
            d = f"M{number(x - r)} {number(y - r)}l{step} {step}m0-{step}l-{step} {step}"
            self.stroke(d, "line", 1.8)
        elif sign is Sign.DIAMOND:
            w = r + 1.5
            d = f"M{number(x - w)} {number(y)}l{w:g} {-w:g}l{w:g} {w:g}l{-w:g} {w:g}z"
            self.made.append(f'<path class="full" d="{d}"/>')
        else:
            kind = "full" if sign is Sign.FULL else "hollow"
            self.made.append(
                f'<circle class="{kind}" cx="{number(x)}" cy="{number(y)}" r="{r:g}"/>'
            )

    def span(self, x: float, x2: float, y: float, *, strong: bool = False) -> None:
        """Draw an interval with its ends."""
        d = f"M{number(x)} {number(y - 4)}v8m0-4H{number(x2)}m0-4v8"
        self.stroke(d, "line" if strong else "soft", 2.6 if strong else 1.4)

    def size(self, x: float, x2: float, y: float) -> None:
        """Draw a length that stands at no place of its own."""
        d = f"M{number(x)} {number(y - 4)}v4H{number(x2)}v-4"
        self.stroke(d, "soft", 1.4)


def legend_lines(legend: tuple[Legend, ...], drawn: Lines, y: float) -> float:
    """Draw what the marks mean, in as many lines as it takes; return where that ends."""
    x = drawn.margin
    for one in legend:
        lines = wrapped(one.words, drawn.width - 2 * drawn.margin - 38, 11)
        room = 34 + max(text_width(line, 11) for line in lines)
        if x + room > drawn.width - drawn.margin and x > drawn.margin:
            x, y = drawn.margin, y + 16
        _small(one, drawn, x, y - 4)
        for at, line in enumerate(lines):
            drawn.words(x + 28, y + 16 * at, line, "small faint")
        x, y = x + room, y + 16 * (len(lines) - 1)
    return y


def _small(one: Legend, drawn: Lines, x: float, y: float) -> None:
    if one.shape is Shape.POINT:
        drawn.sign(x + 11, y, one.sign)
    elif one.shape is Shape.LETTERS:
        drawn.words(x + 11, y + 4, one.text, "small", anchor="middle")
    elif one.shape is Shape.SPAN:
        drawn.span(x, x + 22, y)
    elif one.shape is Shape.SIZE:
        drawn.size(x, x + 22, y + 2)
    elif one.shape is Shape.EDGE:
        drawn.stroke(f"M{number(x + 11)} {number(y - 7)}v14", "line")
    else:
        kind = "band" if one.shape is Shape.BAND else "bar"
        drawn.box(x, y - 4, 22, 8, kind)

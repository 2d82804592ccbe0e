"""The three digits of a code, drawn large so that they are read at arm's length."""

from __future__ import annotations

from collections.abc import Sequence

DOT_ROWS = 6
DOTS: dict[str, tuple[str, ...]] = {
    "0": (" ### ", "## ##", "## ##", "## ##", "## ##", " ### "),
    "1": ("  ## ", " ### ", "  ## ", "  ## ", "  ## ", " ####"),
    "2": (" ### ", "## ##", "   ##", "  ## ", " ##  ", "#####"),
    "3": ("#### ", "   ##", " ### ", "   ##", "   ##", "#### "),
    "4": ("## ##", "## ##", "#####", "   ##", "   ##", "   ##"),
    "5": ("#####", "##   ", "#### ", "   ##", "   ##", "#### "),
    "6": (" ### ", "##   ", "#### ", "## ##", "## ##", " ### "),
    "7": ("#####", "   ##", "  ## ", "  ## ", " ##  ", " ##  "),
    "8": (" ### ", "## ##", " ### ", "## ##", "## ##", " ### "),
    "9": (" ### ", "## ##", "## ##", " ####", "   ##", " ### "),
    "_": ("     ", "     ", "     ", "     ", "     ", "#####"),
}
HALVES = {"  ": " ", "# ": "▀", " #": "▄", "##": "█"}


def dots(code: str) -> list[str]:
    """Return the rows of dots of *code*; whatever is no digit is an empty place."""
    drawn = [DOTS.get(sign, DOTS["_"]) for sign in code]
    return ["  ".join(sign[row] for sign in drawn) for row in range(DOT_ROWS)]


def small(code: str) -> list[str]:
    """Return *code* three rows high, two dots to a cell."""
    rows = dots(code)
    return [_pressed(rows[i], rows[i + 1]) for i in range(0, DOT_ROWS, 2)]


def large(code: str) -> list[str]:
    """Return *code* six rows high, two cells to a dot."""
    return ["".join("██" if dot == "#" else "  " for dot in row) for row in dots(code)]


def _pressed(upper: Sequence[str], lower: Sequence[str]) -> str:
    return "".join(HALVES[top + bottom] for top, bottom in zip(upper, lower, strict=True))

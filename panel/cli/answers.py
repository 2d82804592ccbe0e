"""How a command answers: JSON or a table on stdout, messages and progress on stderr."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import click


def emit_json(document: object) -> None:
    """Print one JSON document; NaN never reaches it (a null with a reason does)."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2, allow_nan=False, default=str))


def say(message: str) -> None:
    """Tell a person something that is not the answer."""
    click.echo(message, err=True)


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return plain columns, numbers to the right, two spaces between."""
    cells = [[str(cell) for cell in row] for row in rows]
    widths = [
        max([len(heading), *(len(row[i]) for row in cells)]) for i, heading in enumerate(headings)
    ]
    right = [bool(cells) and all(_numeric(row[i]) for row in cells) for i in range(len(headings))]
    lines = [_line(headings, widths, right), *(_line(row, widths, right) for row in cells)]
    return "\n".join(lines)


def _line(row: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    parts = [
        cell.rjust(width) if to_right else cell.ljust(width)
        for cell, width, to_right in zip(row, widths, right, strict=True)
    ]
    return "  ".join(parts).rstrip()


def _numeric(cell: str) -> bool:
    return cell in {"", "-"} or cell.lstrip("+-").replace(".", "", 1).replace(" ", "").isdigit()


class Progress:
    """Says how far a job is, on a terminal only, and only once it takes half a second."""

    def __init__(self, what: str, stream: Any = None) -> None:
        self.what = what
        self.stream = stream or sys.stderr
        self.started = time.monotonic()
        self.shown = False

    def __call__(self, done: int, total: int) -> None:
        """Show *done* of *total*."""
        if self.stream.isatty() and time.monotonic() - self.started > 0.5:
            self.shown = True
            self.stream.write(f"\r{self.what}: {done:,} of {total:,}   ")
            self.stream.flush()

    def finish(self) -> None:
        """Clear the line."""
        if self.shown:
            self.stream.write("\r" + " " * (len(self.what) + 40) + "\r")
            self.stream.flush()


@contextmanager
def progress(what: str) -> Iterator[Progress]:
    """Give a progress line that is cleared at the end."""
    shown = Progress(what)
    try:
        yield shown
    finally:
        shown.finish()

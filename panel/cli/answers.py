"""How a command answers: JSON or a table on stdout, messages and progress on stderr."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from shutil import get_terminal_size
from threading import Event, Thread
from typing import Any

import click

from analysis.cell_text import folded as fold
from analysis.under_way import Step
from panel.questions.plain_values import json_text
from panel.questions.waiting import waited_for
from panel.words.columns import columns, columns_within


def emit_json(document: object) -> None:
    """Print one JSON document."""
    click.echo(json_text(document))


def tell(text: str) -> None:
    """Print an answer in words; on a terminal no word is torn apart."""
    click.echo(folded(text.splitlines(), _width()) if sys.stdout.isatty() else text)


def _width() -> int:
    return get_terminal_size().columns


def say(message: str) -> None:
    """Tell a person something that is not the answer; on a terminal no word is torn apart."""
    at_terminal = sys.stderr.isatty()
    click.echo(folded(message.splitlines()) if at_terminal else message, err=True)


def table(headings: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return plain columns as one text; on a terminal none is wider than it."""
    if sys.stdout.isatty():
        return "\n".join(columns_within(headings, rows, _width()))
    return "\n".join(columns(headings, rows))


def folded(lines: Iterable[str], width: int = 80) -> str:
    """Return lines as one text, long ones folded with their continuation indented."""
    return "\n".join(
        "\n".join(fold(line, width, subsequent_indent="    ", break_on_hyphens=False))
        for line in lines
    )


class ProgressLine:
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
def progress(what: str) -> Iterator[ProgressLine]:
    """Give a progress line that is cleared at the end."""
    shown = ProgressLine(what)
    try:
        yield shown
    finally:
        shown.finish()


RECKONING = "Reckoning over all sessions"
_FIRST_SAID_AFTER = 0.5
_SAID_EVERY = 1.0


@contextmanager
def waiting(
    what: str, stream: Any = None, stopped: Callable[[], bool] = lambda: False
) -> Iterator[None]:
    """Say on a terminal which reckoning is under way, how far and for how long; then clear it.

    `stopped` is asked whether it is to end early.
    """
    out = stream or sys.stderr
    if not out.isatty():
        with waited_for(lambda _step: None, stopped):
            yield
        return
    done, far = Event(), _Far(what)
    teller = Thread(target=_tell, args=(far, out, done), daemon=True)
    teller.start()
    try:
        with waited_for(far.note, stopped):
            yield
    finally:
        done.set()
        teller.join()


class _Far:
    """What is reckoned now, and how far it is where it tells."""

    def __init__(self, what: str) -> None:
        self.what = self.words = what

    def note(self, step: Step) -> None:
        self.words = self.what if step.done == step.of else step.words


def _tell(far: _Far, out: Any, done: Event) -> None:
    started, wait, widest = time.monotonic(), _FIRST_SAID_AFTER, 0
    while not done.wait(wait):
        said = f"{far.words} ... {time.monotonic() - started:.0f} s"
        widest = max(widest, len(said))
        out.write(f"\r{said:<{widest}}")
        out.flush()
        wait = _SAID_EVERY
    if widest:
        out.write("\r" + " " * (widest + 4) + "\r")
        out.flush()

"""What a command prints on a terminal steers it nowhere, whatever somebody wrote in a note."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Any

LEFT = frozenset("\n\r\t")
"""Signs that commands themselves print."""
STANDS_FOR = "·"


def obeyed_by_none(text: str) -> str:
    """Return a text in which a sign that a terminal would obey, or that turns reading, is seen.

    Examples
    --------
    >>> obeyed_by_none("wet slate\\x1b[31m\\n")
    'wet slate·[31m\\n'
    """
    if text.isprintable():
        return text
    return "".join(s if s.isprintable() or s in LEFT else STANDS_FOR for s in text)


class PlainStream:
    """A stream of text to a terminal that lets no such sign through; else it is that stream."""

    def __init__(self, stream: IO[str]) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        """Write a text, and say how long it was."""
        if not isinstance(text, str):
            raise TypeError("text is written here, not bytes")
        self._stream.write(obeyed_by_none(text))
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)


@contextmanager
def plain_output() -> Iterator[None]:
    """Let what is printed on a terminal pass through such a stream."""
    out, err = sys.stdout, sys.stderr
    if out is not None and out.isatty():
        sys.stdout = PlainStream(out)
    if err is not None and err.isatty():
        sys.stderr = PlainStream(err)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = out, err

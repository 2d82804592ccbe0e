"""Results as a person looks at them: a short text, a frame, and what a notebook shows of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap
from typing import TYPE_CHECKING

from .as_json import keys_of

if TYPE_CHECKING:
    import pandas as pd

WIDTH = 88
LINES = 10
"""What `repr` has at most."""


class Readable:
    """A result that tells itself in a few lines, and lays itself out as a frame."""

    def summary(self) -> str:
        """What it says, in a short text: the finding first, then what to do, then figures."""
        return "\n".join(line for part in self.said() for line in wrap(part, WIDTH))

    def to_frame(self) -> pd.DataFrame:
        """Its figures, one row for each thing that it speaks of."""
        import pandas as pd

        return pd.DataFrame(list(self.rows()))

    def said(self) -> Iterator[str]:
        """Give what the text says, sentence by sentence; each value by its name where none is."""
        for name, value in keys_of(self).items():
            yield f"{name}: {value:g}" if isinstance(value, float) else f"{name}: {value}"

    def rows(self) -> Iterable[object]:
        """Give what the frame has, as dataclasses or objects of their keys."""
        return [keys_of(self)]

    def __repr__(self) -> str:
        """Give the first lines of the text."""
        lines = self.summary().splitlines()
        if len(lines) <= LINES:
            return "\n".join(lines)
        left = len(lines) - LINES + 1
        return "\n".join([*lines[: LINES - 1], f"... and {left} lines more: summary(), to_frame()"])


def listed(parts: Iterable[str], most: int = 5) -> Iterator[str]:
    """Give the first of some lines, and how many there are more."""
    every = list(parts)
    yield from every[:most]
    if len(every) > most:
        yield f"... and {len(every) - most} more"

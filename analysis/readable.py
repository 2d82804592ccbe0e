"""Results as a person looks at them: a short text, a frame, and what a notebook shows of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from html import escape
from textwrap import wrap
from typing import TYPE_CHECKING, ClassVar

from .as_json import keys_of
from .digits import in_digits

if TYPE_CHECKING:
    import pandas as pd

WIDTH = 88
LINES = 10
"""What `repr` has at most."""
MOST_SAID, MOST_ROWS = 10, 20
"""Sentences and rows that a notebook shows unasked."""
SHORT = "{:.4g}"
"""Figures as a notebook shows them; `to_frame` has them whole."""


def _undrawn(_result: object) -> str:
    return ""


class Readable:
    """A result that tells itself in a few lines, and lays itself out as a frame."""

    drawn_by: ClassVar[Callable[[object], str]] = _undrawn
    """What draws it in a notebook: pictures know results, so results cannot know pictures."""

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
            yield (
                (f"{name}: {in_digits(value, 'g')}")
                if isinstance(value, float)
                else f"{name}: {value}"
            )

    def rows(self) -> Iterable[object]:
        """Give what the frame has, as dataclasses or objects of their keys."""
        return [keys_of(self)]

    def _repr_html_(self) -> str:
        """Give what a notebook shows: what it says, its pictures and the first of its figures.

        Nothing is fetched and nothing runs; what people wrote stands in it as text.
        """
        said = "".join(f"<p>{escape(part)}</p>" for part in listed(self.said(), MOST_SAID))
        frame = self.to_frame()
        shown = frame.head(MOST_ROWS).to_html(
            index=False, border=0, escape=True, na_rep="", float_format=SHORT.format
        )
        left = len(frame) - MOST_ROWS
        more = f"<p>... and {left} rows more: to_frame()</p>" if left > 0 else ""
        return f"<div>{said}{type(self).drawn_by(self)}{shown}{more}</div>"

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

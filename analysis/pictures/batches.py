"""Do the batches stay where they were? A row a batch, a line a note, year under year."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..vatting import NoteBefore
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign

MOST_NOTES = 6
TWICE = 1.96
ROOM = 5.0
"""Points that are left free beyond what is drawn."""


@dataclass(frozen=True)
class BatchRow:
    """One batch: what it is called, what stands at its right, and its notes."""

    name: str
    beside: str
    nosed: bool
    notes: tuple[NoteBefore, ...]


def batches_over_years(
    target: str,
    batches: Sequence[BatchRow],
    bands: Mapping[str, tuple[float, float]],
    said: str,
) -> tuple[Picture, ...]:
    """Return the batches of a target, six notes a picture.

    Parameters
    ----------
    batches
        The oldest first.
    bands
        Low and high of what the target asks, by note.
    said
        What the picture shows, in words.
    """
    names = [name for name in bands if any(_of(batch, name) for batch in batches)]
    if not batches or not names:
        return ()
    return tuple(
        _six(target, batches, {name: bands[name] for name in names[at : at + MOST_NOTES]}, said)
        for at in range(0, len(names), MOST_NOTES)
    )


def _six(
    target: str,
    batches: Sequence[BatchRow],
    bands: Mapping[str, tuple[float, float]],
    said: str,
) -> Picture:
    marks: list[Mark] = []
    facets = []
    for facet, (name, band) in enumerate(bands.items()):
        ends = list(band)
        for row, batch in enumerate(batches):
            marks += [Mark(Shape.EDGE, row, bar, facet=facet) for bar in band]
            note = _of(batch, name)
            if note is None:
                continue
            low, high = note.estimate - TWICE * note.sd, note.estimate + TWICE * note.sd
            ends += [low, high]
            sign = Sign.FULL if batch.nosed else Sign.HOLLOW
            marks.append(Mark(Shape.SPAN, row, low, high, facet))
            marks.append(Mark(Shape.POINT, row, note.estimate, facet=facet, sign=sign))
        low, high = max(min(ends) - ROOM, 0.0), min(max(ends) + ROOM, 100.0)
        facets.append(Facet(float(round(low)), float(round(high)), name, "points"))
    return Picture(
        title=f"Do the batches of {target} stay where they were?",
        says=said,
        rows=tuple(Row(batch.name, batch.beside) for batch in batches),
        facets=tuple(facets),
        marks=tuple(marks),
        legend=(
            Legend(Shape.EDGE, "what the target asks today"),
            Legend(Shape.POINT, "as our panel found it", Sign.FULL),
            Legend(Shape.POINT, "as reckoned from its casks", Sign.HOLLOW),
            Legend(Shape.SPAN, "19 times in 20"),
        ),
    )


def _of(batch: BatchRow, name: str) -> NoteBefore | None:
    return next((note for note in batch.notes if note.descriptor == name), None)

"""Where does a note lie? The panel's mean at each stage, a row a stage of each sample."""

from __future__ import annotations

from collections.abc import Iterator

from ..digits import in_digits
from ..stages.result import SampleStaged, StagedNote, Stages
from ..traces.result import MeanFound
from .marks import Facet, Legend, Mark, Picture, Row, Shape

LEGEND = (
    Legend(Shape.POINT, "mean of the panel"),
    Legend(Shape.SPAN, "its interval, 95 times in 100"),
)


def where_it_lies(found: Stages) -> tuple[Picture, ...]:
    """Return a picture for each note: nose, arrival, development, finish of each sample."""
    return tuple(_picture(note) for note in found.notes if note.samples)


def _picture(note: StagedNote) -> Picture:
    stages = [each for one in note.samples for each in _stages(one)]
    told = " ".join(f"{one.verdict.said}." for one in note.samples)
    return Picture(
        title=f"Where does {note.note} lie?",
        says=told,
        rows=tuple(Row(name, _beside(mean)) for name, mean in stages),
        facets=(Facet(0.0, 100.0, unit=f"{note.note}, points"),),
        marks=tuple(mark for at, (_, mean) in enumerate(stages) for mark in _marks(at, mean)),
        legend=LEGEND,
    )


def _stages(one: SampleStaged) -> Iterator[tuple[str, MeanFound]]:
    means = one.means
    yield f"{one.sample}: nose", means.nose
    yield "arrival", means.arrival
    yield "development", means.development
    yield "finish", means.finish


def _beside(mean: MeanFound) -> str:
    return "-" if mean.mean is None else in_digits(mean.mean, ".0f")


def _marks(at: int, mean: MeanFound) -> Iterator[Mark]:
    if mean.mean is None:
        return
    if mean.low is not None and mean.high is not None:
        yield Mark(Shape.SPAN, at, max(mean.low, 0.0), min(mean.high, 100.0))
    yield Mark(Shape.POINT, at, mean.mean, strong=True)

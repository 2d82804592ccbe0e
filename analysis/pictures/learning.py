"""Is somebody in training coming nearer to the panel: a row an exercise, as they were held."""

from __future__ import annotations

from ..digits import in_digits
from ..training import Exercise, Training
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign


def is_it_nearer(found: Training) -> Picture | None:
    """Return how far off the panel's values somebody was, exercise by exercise.

    None where no exercise tells anything. It is for that person and the lead alone.

    Examples
    --------
    >>> from ..agreement.one_session.with_panel import WithPanel
    >>> from ..agreement.verdict import Verdict
    >>> from ..training import TrainingWord
    >>> word = Verdict(TrainingWord.CANNOT_TELL, "too early", "go on")
    >>> is_it_nearer(Training("T", word, 0, 0, 0, 4, 24, WithPanel(), ())) is None
    True
    """
    told = [each for each in found.exercises if each.off_points is not None]
    if not told:
        return None
    reach = max([10.0, *(_off(each) for each in told), *(_error(each) for each in told)])
    return Picture(
        title=f"Is {found.assessor} coming nearer to the panel?",
        says=f"{found.verdict.label.capitalize()}. {found.verdict.sentence}",
        rows=tuple(Row(each.session, _beside(each)) for each in told),
        facets=(Facet(0.0, 5.0 * -(-reach // 5.0), unit="points off the panel's values"),),
        marks=tuple(
            mark
            for row, each in enumerate(told)
            for mark in (
                Mark(Shape.EDGE, row, _error(each)),
                Mark(Shape.POINT, row, _off(each), sign=Sign.FULL),
            )
        ),
        legend=(
            Legend(Shape.POINT, "the person on average, their own level taken out", Sign.FULL),
            Legend(Shape.EDGE, "by which the panel's values may be off themselves"),
        ),
    )


def _off(each: Exercise) -> float:
    return each.off_points or 0.0


def _error(each: Exercise) -> float:
    return each.panel_error_points or 0.0


def _beside(each: Exercise) -> str:
    shown = in_digits(each.correlation or 0.0, ".2f")
    return f"{each.held_on or 'no day'}, correlation {shown}"

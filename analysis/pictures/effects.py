"""What wood, fill, age and peat did: intervals around nothing, in points."""

from __future__ import annotations

from ..influences import Effect, Factor, Influences
from .marks import Facet, Legend, Mark, Picture, Row, Shape, Sign, Trust


def what_moves(result: Influences, descriptor: str) -> Picture:
    """Return the effects on one note; what holds stands above, bold where its way is clear.

    Raises
    ------
    KeyError
        Nothing is told of such a note.
    """
    note = next((one for one in result.notes if one.descriptor == descriptor), None)
    if note is None:
        raise KeyError(descriptor)
    effects = [
        effect
        for effect in result.effects
        if effect.descriptor == descriptor
        and effect.estimate is not None
        and effect.low is not None
    ]
    effects.sort(key=lambda effect: not effect.holds)
    reach = max([10.0, *(abs(end) for effect in effects for end in _ends(effect))])
    reach = 10.0 * -(-reach // 10.0)
    marks: list[Mark] = []
    for at, effect in enumerate(effects):
        low, high = _ends(effect)
        marks.append(Mark(Shape.EDGE, at, 0.0))
        marks.append(Mark(Shape.SPAN, at, low, high, strong=effect.clear))
        sign = Sign.FULL if effect.clear else Sign.HOLLOW
        marks.append(Mark(Shape.POINT, at, effect.estimate or 0.0, sign=sign, strong=effect.clear))
    return Picture(
        title=f"What did wood, fill, age and peat do to {descriptor}?",
        says=note.sentence,
        rows=tuple(
            Row(
                _named(effect),
                _beside(effect),
                trust=Trust.FIRM if effect.holds else Trust.DOUBTFUL,
            )
            for effect in effects
        ),
        facets=(Facet(-reach, reach, unit="points more or less"),),
        marks=tuple(marks),
        legend=(
            Legend(Shape.POINT, "holds, this way", Sign.FULL),
            Legend(Shape.POINT, "which way cannot be told", Sign.HOLLOW),
            Legend(Shape.SPAN, f"interval, {100 * result.level:.0f} in 100"),
        ),
    )


def _named(effect: Effect) -> str:
    """The level alone where it names its factor: a long name would be cut before its number."""
    alone = effect.factor in {Factor.WOOD, Factor.WOOD_FILL, Factor.FILL, Factor.AGE_IN_WOOD}
    return effect.level if alone else f"{effect.factor.value}: {effect.level}"


def _beside(effect: Effect) -> str:
    """Casks first, so that a long name costs no figure; a wood that both share is said once."""
    wood, comma, rest = effect.against.rpartition(", ")
    against = rest if comma and effect.level.startswith(f"{wood}, ") else effect.against
    return f"{effect.n_casks} cask{'' if effect.n_casks == 1 else 's'}, against {against}"


def _ends(effect: Effect) -> tuple[float, float]:
    middle = effect.estimate or 0.0
    low = middle if effect.low is None else effect.low
    return low, middle if effect.high is None else effect.high

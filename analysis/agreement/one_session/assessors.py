"""How each assessor reads against the others, on one descriptor."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ...array_types import Vector
from ..indices.distributions import chi2_lower, normal_density
from ..indices.layout import ScoreLayout
from ..indices.repeat import Repeat
from ..settings import AgreementSettings
from ..verdict import AssessorWord
from .standing import Standing
from .with_panel import Told, ToldOrNot

_CLASSES = ((0.93, 1.0, 0.3), (0.05, 0.0, 0.1), (0.02, -1.0, 0.3))
"""Share, mean and sd of true slopes: reads with the panel, smells nothing of it, reversed."""
_PRIOR_PAIRS = 4.0
"""The noise of one assessor is pooled with the panel's as if that were so many more glasses."""
_SHARED = 0.5
"""Least correlation with the others to say that somebody reads with them: a quarter shared."""


@dataclass(frozen=True)
class PanelSlope:
    """One assessor against the mean of the others, over the samples both have.

    Attributes
    ----------
    correlation, slope, se
        Plain least squares of the assessor's cell means on the others' means.
    true_slope, true_se
        The same with the others' own noise taken into account, which flattens a slope.
    """

    correlation: float
    slope: float
    se: float
    true_slope: float
    true_se: float


@dataclass(frozen=True)
class ReadingOdds:
    """Probabilities that an assessor reads with the panel, reads nothing, or reads reversed."""

    with_panel: float
    flat: float
    reversed: float
    low: float
    high: float


def slopes(layout: ScoreLayout, told: ToldOrNot) -> dict[str, PanelSlope | str]:
    """PanelSlope of each assessor on the mean of the others, or why there is none.

    Parameters
    ----------
    layout
        Scores of one descriptor.
    told
        Each assessor beside the others; it says how much of the others' means is noise.

    Returns
    -------
    dict
        By assessor.

    Notes
    -----
    The mean of the others leaves the assessor out, so nobody agrees with himself. Their
    reliability is ``1 - 1/F`` with F that of the others alone; a slope on means of that
    reliability is too flat by as much.
    """
    adjusted = layout.adjusted
    fitted = {
        name: _least_squares(adjusted[row], layout.others[row])
        for row, name in enumerate(layout.assessors)
    }
    noise = [part[2] for part in fitted.values() if not isinstance(part, str)]
    pooled = float(np.mean(noise)) if noise else 0.0
    return {name: _with_error(part, pooled, told.get(name)) for name, part in fitted.items()}


_Fitted = tuple[float, float, float, float, int]


def _least_squares(own: Vector, others: Vector) -> _Fitted | str:
    """Correlation, slope, residual variance, squares of x and degrees of freedom."""
    both = ~(np.isnan(own) | np.isnan(others))
    n = int(both.sum())
    if n < 3:
        return "fewer than three samples in common with the others"
    x, y = others[both] - others[both].mean(), own[both] - own[both].mean()
    xx, xy, yy = float(x @ x), float(x @ y), float(y @ y)
    if xx <= 1e-12:
        return "the others gave all samples the same"
    slope = xy / xx
    left = max(yy - slope * xy, 0.0) / (n - 2)
    correlation = xy / np.sqrt(xx * yy) if yy > 1e-12 else float("nan")
    return float(correlation), slope, left, xx, n - 2


def _with_error(found: _Fitted | str, pooled: float, told: Told | str | None) -> PanelSlope | str:
    if isinstance(found, str):
        return found
    correlation, slope, left, xx, df = found
    noise = (df * left + _PRIOR_PAIRS * pooled) / (df + _PRIOR_PAIRS)
    se = float(np.sqrt(noise / xx))
    stretch = 1.0 / told.reliability if isinstance(told, Told) else float("nan")
    return PanelSlope(correlation, slope, se, slope * stretch, se * stretch)


_LEAST_SE = 1e-6
"""One who gives exactly the others' differences leaves no residual to reckon an error from."""


def reading(found: Sequence[PanelSlope]) -> ReadingOdds:
    """Class an assessor by slopes of one or more sessions.

    Bayes over three kinds of assessor with priors 93 % around slope 1, 5 % around 0 and 2 %
    around -1 (house figures). `low` and `high` hold the middle 90 % of the slope of one who
    reads with the panel.

    Examples
    --------
    >>> round(reading([PanelSlope(0.1, 0.02, 0.15, 0.02, 0.15)]).flat, 2)
    0.87
    """
    weights = np.array([1.0 / max(part.true_se, _LEAST_SE) ** 2 for part in found])
    precision = float(weights.sum())
    slope = float(weights @ np.array([part.true_slope for part in found])) / precision
    variance = 1.0 / precision
    chances = np.array(
        [
            share * normal_density(slope, mean, np.sqrt(sd**2 + variance))
            for share, mean, sd in _CLASSES
        ]
    )
    total = chances.sum()
    chances = chances / total if total > 0 else np.array([0.0, 0.0, 1.0 if slope < 0 else 0.0])
    _, mean, sd = _CLASSES[0]
    shrunk = (mean / sd**2 + slope * precision) / (1.0 / sd**2 + precision)
    spread = 1.645 / np.sqrt(1.0 / sd**2 + precision)
    each = [float(part) for part in chances]
    return ReadingOdds(
        with_panel=each[0],
        flat=each[1],
        reversed=each[2],
        low=float(shrunk - spread),
        high=float(shrunk + spread),
    )


def reading_word(
    slope: PanelSlope,
    found: ReadingOdds,
    standing: Standing,
    less_steady: bool,
    settings: AgreementSettings,
) -> AssessorWord | None:
    """The word for an assessor on a note; None when it is too close to call.

    `standing` is of the person over all notes: a note says only what holds for them together.
    `less_steady` says whether the nosings of this note lie further apart than is usual.
    """
    sure = settings.flag_probability
    if found.reversed > sure:
        return AssessorWord.REVERSED
    if found.flat > sure:
        return AssessorWord.FLAT
    if less_steady and standing.habits.less_steady:
        return AssessorWord.UNSTEADY
    if found.with_panel <= sure or not slope.correlation >= _SHARED:
        return None
    return standing.on_note(slope.true_slope)


def span_word(
    slopes: Sequence[PanelSlope],
    repeat: Repeat,
    usual_sd: float | None,
    settings: AgreementSettings,
) -> AssessorWord | None:
    """The word for an assessor on a note over several sessions.

    Whether somebody smells nothing of a note is never among them: over sessions that is close
    to a person's health, and is said in private only.
    """
    found = reading(slopes) if slopes else None
    if found is not None and found.reversed > settings.flag_probability:
        return AssessorWord.REVERSED
    if _unsteady(repeat, usual_sd, settings):
        return AssessorWord.UNSTEADY
    if found is None or found.with_panel <= settings.flag_probability:
        return None
    middle = (found.low + found.high) / 2.0
    return _width(found) if abs(np.log(max(middle, 0.01))) > _WIDE else AssessorWord.WITH


_WIDE = float(np.log(1.25))
"""Over many sessions a line a tenth wider stands out from noise, but is no matter to speak of."""


def _width(found: ReadingOdds) -> AssessorWord:
    """How wide a line somebody uses who reads with the panel."""
    if found.low > 1.0:
        return AssessorWord.WIDER
    return AssessorWord.NARROWER if found.high < 1.0 else AssessorWord.WITH


def _unsteady(repeat: Repeat, usual_sd: float | None, settings: AgreementSettings) -> bool:
    """Whether the repeat sd is surely beyond so many times the usual one.

    The panel's own noise counts as four more repeats, so that two unlucky pairs are no verdict.
    """
    if not usual_sd or repeat.df == 0:
        return False
    limit = settings.unsteady_multiple * usual_sd
    squares = repeat.squares + _PRIOR_PAIRS * usual_sd**2
    chance = chi2_lower(squares / limit**2, repeat.df + _PRIOR_PAIRS)
    return chance > settings.unsteady_probability


def usual_repeat_sd(repeats: Sequence[Repeat]) -> float | None:
    """Median of the assessors' repeat sds, each drawn towards that of all; None without any."""
    found = [part for part in repeats if part.df > 0]
    if not found:
        return None
    pooled = sum(part.squares for part in found) / sum(part.df for part in found)
    variances = [
        (part.squares + _PRIOR_PAIRS * pooled) / (part.df + _PRIOR_PAIRS) for part in found
    ]
    return float(np.sqrt(np.median(variances)))

"""Where a fit begins: with the scores alone, at an earlier fit, or with a look at a part."""

from __future__ import annotations

from .coarse import WORTH_IT, first_look
from .fit import (
    TOLERANCE,
    TOLERANCE_LARGE,
    Fit,
    NotSettledError,
    fit_descriptor,
)
from .parameters import FitProblem, Parameters


def begun(problem: FitProblem, earlier: Parameters | None) -> Fit:
    """The fit from an earlier one or a first look; from nothing where that does not settle.

    Whether there is a fit at all must not hang on where it began.
    """
    start = _start(problem, earlier)
    try:
        return fit_descriptor(problem, start, tolerance=tolerance_of(problem))
    except NotSettledError:
        if start is None:
            raise
        return fit_descriptor(problem, tolerance=tolerance_of(problem))


def _start(problem: FitProblem, earlier: Parameters | None) -> Parameters | None:
    """Where to begin: an earlier fit, a first look, or with the scores alone.

    With the scores alone where few samples are read at the ends of the line: thirty scores above
    0 may be told in more than one way, and which of them is told must not hang on an earlier fit.
    """
    if problem.ends is not None and not _is_large(problem):
        return None
    return _carried(problem, earlier) or first_look(problem)


def _is_large(problem: FitProblem) -> bool:
    return problem.layout.glasses.n_samples >= WORTH_IT


def tolerance_of(problem: FitProblem) -> float:
    """In standard errors, when a fit of this problem has settled."""
    return TOLERANCE_LARGE if _is_large(problem) else TOLERANCE


def _carried(problem: FitProblem, earlier: Parameters | None) -> Parameters | None:
    """An earlier fit, if it had the same terms."""
    if earlier is None or set(earlier.ratios) != set(problem.terms):
        return None
    return earlier

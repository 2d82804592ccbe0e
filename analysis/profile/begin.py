"""Where a fit begins: with the scores alone, at an earlier fit, or with a look at a part."""

from __future__ import annotations

from functools import partial

from .coarse import WORTH_IT, first_look
from .fit import (
    TOLERANCE,
    TOLERANCE_CHEAP,
    TOLERANCE_LARGE,
    Fit,
    NotSettledError,
    fit_descriptor,
)
from .parameters import FitProblem, Parameters
from .ways import goes_sparse


def begun(problem: FitProblem, earlier: Parameters | None) -> Fit:
    """The fit from an earlier one or a first look; from nothing where that does not settle.

    Whether there is a fit at all must not hang on where it began.
    """
    start = _start(problem, earlier)
    fit = partial(
        fit_descriptor,
        problem,
        tolerance=tolerance_of(problem),
        all_to_go=_creeps(problem),
        by_samples=_is_sparse(problem),
    )
    try:
        return fit(start)
    except NotSettledError:
        if start is None:
            raise
        return fit()


def _start(problem: FitProblem, earlier: Parameters | None) -> Parameters | None:
    """Where to begin: an earlier fit, a first look, or with the scores alone.

    With the scores alone where few samples are read at the ends of the line: thirty scores above
    0 may be told in more than one way, and which of them is told must not hang on an earlier fit.
    Nor may what a large fit says that stops early: it begins with a look at a part of the same
    scores, which saves it rounds; where a round is cheap it saves nothing.
    """
    if problem.ends is not None and not _is_large(problem):
        return None
    if _is_sparse(problem):
        return _carried(problem, earlier)
    return (None if _is_large(problem) else _carried(problem, earlier)) or first_look(problem)


def _is_large(problem: FitProblem) -> bool:
    return problem.layout.glasses.n_samples >= WORTH_IT


def tolerance_of(problem: FitProblem) -> float:
    """In standard errors, when a fit of this problem has settled."""
    if not _is_large(problem):
        return TOLERANCE
    return TOLERANCE_CHEAP if _is_sparse(problem) else TOLERANCE_LARGE


def _is_sparse(problem: FitProblem) -> bool:
    """Whether its samples are many and its rounds quick and exact."""
    return _is_large(problem) and goes_sparse(problem)


def _carried(problem: FitProblem, earlier: Parameters | None) -> Parameters | None:
    """An earlier fit, if it had the same terms."""
    if earlier is None or set(earlier.ratios) != set(problem.terms):
        return None
    return earlier


def _creeps(problem: FitProblem) -> bool:
    """Whether a fit may stop with much to go in small rounds: early, or with scores at the ends."""
    if _is_large(problem):
        return goes_sparse(problem)
    return problem.ends is not None

"""Other answers that are really different, and which of all of them comes first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from .chance import Stream
from .mixture import Mixture, make_mixture, surely_fills
from .model import build_model
from .solve import Found, solve
from .task import Task
from .tighten import Tightened, chance_of, chosen_litres

ANSWERS = 5


@dataclass(frozen=True, eq=False)
class Answers:
    """Several answers, the surest first.

    Attributes
    ----------
    chosen
        The one that comes first, with the bound of its band.
    mixtures
        All of them.
    """

    chosen: Tightened
    mixtures: tuple[Mixture, ...]


@dataclass(frozen=True, eq=False)
class _Answer:
    found: Found
    mixture: Mixture


def different_answers(task: Task, chosen: Tightened, *, count: int = ANSWERS) -> Answers:
    """Find answers that differ from each other by at least three casks.

    Parameters
    ----------
    task, chosen
        The question, and the answer that is already there.
    count
        Answers in all.

    Returns
    -------
    Answers
        Fewer than `count` when no more could be found. Of a small vatting half of the casks
        differ; casks that must be in do not count.

    Notes
    -----
    The search minimises points outside the band, and of two answers within it the chance tells
    which is surer: an answer that was found later may be. Which comes first is decided by the
    simulated vattings that choose among bands as well, never by those that are told.
    """
    if chosen.mixture is None:
        return Answers(chosen, ())
    answers = [_Answer(chosen.found, chosen.mixture)]
    while len(answers) < count:
        unlike = [set(answer.mixture.casks) for answer in answers]
        found = solve(build_model(task, chosen.band, unlike=unlike))
        rows, litres = chosen_litres(found)
        if not len(rows):
            break
        mixture = make_mixture(task, rows, litres)
        if set(mixture.casks) in unlike:  # all casks are asked for: there is no other answer
            break
        answers.append(_Answer(found, mixture))
    filling = [each for each in answers if surely_fills(each.mixture, task.limits)]
    return _surest_first(task, chosen, filling or answers[:1])


def _surest_first(task: Task, chosen: Tightened, answers: Sequence[_Answer]) -> Answers:
    """Order them by the simulated vattings that choose; equals stay as they were found."""
    ordered = sorted(answers, key=lambda each: -(chance_of(task, each.found, Stream.CHOOSING) or 0))
    best = ordered[0]
    # What bounds all choices for the band bounds this one; its own search left choices out.
    found = replace(best.found, bound=chosen.found.bound)
    mixtures = tuple(each.mixture for each in ordered)
    return Answers(replace(chosen, found=found, mixture=best.mixture), mixtures)

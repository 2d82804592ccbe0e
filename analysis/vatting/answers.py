"""Other answers that are really different."""

from __future__ import annotations

from time import perf_counter

from .mixture import Mixture, make_mixture, surely_fills
from .model import build_model
from .solve import solve
from .task import Task
from .tighten import Tightened, chosen_litres

ANSWERS = 5


def different_answers(
    task: Task, chosen: Tightened, *, count: int = ANSWERS, seconds: float = 5.0
) -> tuple[Mixture, ...]:
    """Find answers that differ from each other by at least three casks.

    Parameters
    ----------
    task, chosen
        The question, and the answer that is already there; it comes first.
    count
        Answers in all.
    seconds
        Time for all of them.

    Returns
    -------
    tuple of Mixture
        Fewer than `count` when no more could be found. Of a small vatting half of the casks
        differ; casks that must be in do not count.
    """
    if chosen.mixture is None:
        return ()
    deadline = perf_counter() + seconds
    answers = [chosen.mixture]
    while len(answers) < count:
        left = (deadline - perf_counter()) / (count - len(answers))
        unlike = [set(answer.casks) for answer in answers]
        model = build_model(task, chosen.band, unlike=unlike)
        found = solve(model, min(1.0, max(0.1, left)))
        rows, litres = chosen_litres(found)
        if not len(rows):
            break
        answers.append(make_mixture(task, rows, litres))
    return tuple(each for each in answers if surely_fills(each, task.limits))

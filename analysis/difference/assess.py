"""From answers, set by set, to a finding on two products."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from scipy.stats import binom

from .exact import Asked, least_right, needed_different
from .facts import DifferenceFacts
from .method import Method, d_prime, lowest_of, right
from .repeats import Answers, at_least, at_most, interval
from .result import Difference
from .settings import DEFAULT, DifferenceSettings
from .verdict import difference_verdict

if TYPE_CHECKING:
    import pandas as pd

KEPT = "kept"
UNANSWERED = "not answered"


def assess_difference(
    sets: pd.DataFrame,
    asked: Asked,
    products: tuple[str, str],
    *,
    session: str = "",
    note: str | None = None,
    settings: DifferenceSettings = DEFAULT,
) -> Difference:
    """Say whether two products are different.

    Against no difference the test is the exact binomial one, whoever answered how often: places
    and codes of each set are drawn anew, so the same product twice is right by chance whatever
    people are like. The interval and *alike* allow for people who differ, where they repeat.

    Parameters
    ----------
    sets
        One row a set: `assessor`, `set`, `right` (1 or 0; missing: not answered), `status` (kept
        counts). Of the stronger of two, `right` is an answer for the first product.
    products
        The first and the second; where one is expected to be the stronger, it is the first.

    Examples
    --------
    >>> import pandas as pd
    >>> from analysis.difference import Method
    >>> rows = [{"assessor": f"A{i}", "set": 1, "right": int(i < 22), "status": "kept"}
    ...         for i in range(26)]
    >>> found = assess_difference(pd.DataFrame(rows), Asked(Method.STRONGER), ("new", "old"))
    >>> found.verdict.word.value, found.facts.n_right, round(found.facts.p_different, 5)
    ('different', 22, 0.00053)
    """
    counted, left_out = _counting(sets)
    answers = Answers(
        tuple(right for right, _ in counted.values()), tuple(n for _, n in counted.values())
    )
    facts = _facts(answers, asked, products, note, settings)
    error = asked.error / 2.0 if asked.two_sided else asked.error
    return Difference(
        session=session,
        facts=facts,
        n_people=len(counted),
        least_right=least_right(answers.n, asked.method.guess, error) if answers.n else None,
        left_out=left_out,
        verdict=difference_verdict(facts),
    )


def _facts(
    answers: Answers,
    asked: Asked,
    products: tuple[str, str],
    note: str | None,
    settings: DifferenceSettings,
) -> DifferenceFacts:
    towards = settings.usual if asked.alike_within is None else asked.alike_within
    low, high = (
        interval(answers, settings.interval_error, lowest_of(asked.method))
        if answers.n
        else (None, None)
    )
    return DifferenceFacts(
        method=asked.method,
        first=products[0],
        second=products[1],
        note=note,
        both_ways=asked.two_sided,
        error=asked.error,
        n_answers=answers.n,
        n_right=answers.n_right,
        p_different=p_different(answers, asked) if answers.n else None,
        d_prime=_distance(asked.method, answers.n_right / answers.n) if answers.n else None,
        low=None if low is None else _distance(asked.method, low),
        high=None if high is None else _distance(asked.method, high),
        no_end=_no_end(answers, asked, products),
        which_is_sure=which_is_sure(answers, asked) if answers.n else None,
        alike_within=asked.alike_within,
        p_alike=p_alike(answers, asked) if answers.n else None,
        towards=towards,
        needed=needed_different(asked, towards, settings.power),
    )


def _distance(method: Method, share: float) -> float | None:
    """A distance, None where so large a share of answers sets no end to it."""
    endless = share >= 1.0 or (method.signed and share <= 0.0)
    return None if endless else d_prime(method, share)


def _no_end(answers: Answers, asked: Asked, products: Sequence[str]) -> str | None:
    """Why a distance has no end on one side: not one answer speaks against a larger one."""
    if answers.n and answers.n_right == answers.n:
        named = f"all answers name {products[0]}"
        return named if asked.method.signed else "all answers are right"
    if answers.n and asked.method.signed and not answers.n_right:
        return f"all answers name {products[1]}"
    return None


def _counting(sets: pd.DataFrame) -> tuple[dict[str, tuple[int, int]], Mapping[str, int]]:
    """Return right answers and answers by person, and what does not count by reason."""
    counted: dict[str, tuple[int, int]] = {}
    left_out: Counter[str] = Counter()
    for who, answer, status in zip(sets["assessor"], sets["right"], sets["status"], strict=True):
        if status != KEPT:
            left_out[str(status).replace("_", " ")] += 1
        elif answer is None or math.isnan(answer):
            left_out[UNANSWERED] += 1
        else:
            was, n = counted.get(str(who), (0, 0))
            counted[str(who)] = (was + int(answer), n + 1)
    return counted, dict(left_out)


def p_different(answers: Answers, asked: Asked) -> float:
    """Chance of so many right answers or more if the two are the same; twice that both ways.

    Examples
    --------
    >>> from analysis.difference import Method
    >>> round(p_different(Answers((18,), (30,)), Asked(Method.TWO_AND_TWO)), 4)
    0.0025
    """
    n, x, guess = answers.n, answers.n_right, asked.method.guess
    if not asked.two_sided:
        return float(binom.sf(x - 1, n, guess))
    return min(2.0 * float(binom.sf(max(x, n - x) - 1, n, guess)), 1.0)


def which_is_sure(answers: Answers, asked: Asked) -> bool | None:
    """Say whether people like these name the same product more often, as these answers do.

    That two products differ is sure once chance alone gives so much too seldom. Which has more is a
    claim about people, of whom some may find it in the one and some in the other: so the same
    error is asked of sums that allow for people who differ.

    Examples
    --------
    >>> from analysis.difference import Method
    >>> asked = Asked(Method.STRONGER)
    >>> which_is_sure(Answers((3,) * 9, (3,) * 9), asked)
    True
    >>> which_is_sure(Answers((3, 3, 3, 3, 3, 3, 3, 0, 0), (3,) * 9), asked)
    False
    """
    if not asked.method.signed:
        return None
    error = asked.error / 2.0 if asked.two_sided else asked.error
    up = 2 * answers.n_right > answers.n
    tail = at_least(answers, 0.5) if up else at_most(answers, 0.5)
    return tail <= error


def p_alike(answers: Answers, asked: Asked) -> float | None:
    """Largest chance of answers so near to chance if the two are as far apart as was named."""
    if asked.alike_within is None:
        return None
    share = right(asked.method, asked.alike_within)
    below = at_most(answers, share, lowest_of(asked.method))
    return max(below, at_least(answers, 1.0 - share)) if asked.method.signed else below

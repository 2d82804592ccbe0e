"""Every sentence that judges two products, in one place."""

from __future__ import annotations

from ..agreement.verdict.words import Verdict
from ..counted import count
from ..digits import in_digits
from .facts import DifferenceFacts, DifferenceWord
from .method import Method, right

RIGHT = {
    Method.TWO_AND_TWO: "sorted right",
    Method.ODD_ONE_OUT: "right about the odd one",
    Method.LIKE_THE_FIRST: "right about what is like the reference",
}
"""What was right of a set in which neither product is named."""


def difference_verdict(facts: DifferenceFacts) -> Verdict[DifferenceWord]:
    """Say whether two products are different, alike within what was named, or neither yet."""
    if not facts.n_answers or facts.p_different is None:
        return Verdict(
            DifferenceWord.TOO_LITTLE,
            f"No set of {facts.first} and {facts.second} was answered that counts",
            "pour them again",
        )
    within = facts.p_alike is not None and facts.p_alike <= facts.error
    match word_of(facts.p_different, facts.p_alike, facts.error):
        case DifferenceWord.DIFFERENT:
            return _different(facts, within=within)
        case DifferenceWord.ALIKE:
            return _alike(facts)
    return _cannot_tell(facts)


def word_of(p_different: float, p_alike: float | None, error: float) -> DifferenceWord:
    """Return the word that two chances come to; different goes before alike.

    Examples
    --------
    >>> word_of(0.2, 0.04, 0.05).value
    'alike'
    """
    if p_different <= error:
        return DifferenceWord.DIFFERENT
    if p_alike is not None and p_alike <= error:
        return DifferenceWord.ALIKE
    return DifferenceWord.CANNOT_TELL


def _different(facts: DifferenceFacts, *, within: bool) -> Verdict[DifferenceWord]:
    said = f"{_which(facts)}: {_answers(facts)}, {_by_chance(facts.p_different or 0.0)}"
    if within:
        said += (
            "; yet they are nearer to each other than a d-prime of "
            f"{in_digits(facts.alike_within, 'g')}, which "
            "was named as alike before"
        )
        return Verdict(
            DifferenceWord.DIFFERENT, said, "use one for the other where that may be noticed"
        )
    return Verdict(DifferenceWord.DIFFERENT, said, "do not use one for the other unasked")


def _which(facts: DifferenceFacts) -> str:
    if not facts.method.signed:
        return f"{facts.first} and {facts.second} are different"
    if not facts.which_is_sure:
        return (
            f"{facts.first} and {facts.second} are different{_on(facts)}, but in which of them "
            "other people would find more is not sure"
        )
    up = 2 * facts.n_right > facts.n_answers
    strong, weak = (facts.first, facts.second) if up else (facts.second, facts.first)
    return f"{strong} and {weak} are different{_on(facts)}, and {strong} has more of it"


def _on(facts: DifferenceFacts) -> str:
    return f" on {facts.note}" if facts.note else ""


def _answers(facts: DifferenceFacts) -> str:
    if not facts.method.signed:
        return f"{facts.n_right} of {count(facts.n_answers, 'set')} were {RIGHT[facts.method]}"
    named, times = facts.first, facts.n_right
    if facts.towards_second:
        named, times = facts.second, facts.n_answers - facts.n_right
    return f"{times} of {count(facts.n_answers, 'answer')} named {named}"


def _by_chance(p: float) -> str:
    """Say how often the same product twice gives so much."""
    if p < 0.0005:
        return "which the same product twice gives less than once in 2,000 sessions"
    times = round(1.0 / p)
    return f"which the same product twice gives once in {in_digits(times, ',')} sessions"


def _alike(facts: DifferenceFacts) -> Verdict[DifferenceWord]:
    of = right(facts.method, facts.alike_within or 0.0)
    said = (
        f"{facts.first} and {facts.second} are alike{_on(facts)} within a d-prime of "
        f"{in_digits(facts.alike_within, 'g')} (one of which {100 * of:.0f} answers in 100 "
        "are right): "
        f"{_answers(facts)}, and products so far apart come out so near in at most "
        f"{round(100 * facts.error)} sessions of 100"
    )
    return Verdict(DifferenceWord.ALIKE, said, "use one for the other; it says nothing of less")


def _cannot_tell(facts: DifferenceFacts) -> Verdict[DifferenceWord]:
    said = (
        f"Whether {facts.first} and {facts.second} are different{_on(facts)} cannot be told yet: "
        f"{_answers(facts)}, and they may be {_apart(facts)} (d-prime)"
    )
    if facts.method.signed and not facts.both_ways and 2 * facts.n_right < facts.n_answers:
        said += f"; it came out for {facts.second}, which was not asked"
        return Verdict(DifferenceWord.CANNOT_TELL, said, "plan a new session that asks both ways")
    if facts.alike_within is None:
        said += "; not found different is not found alike"
    return Verdict(DifferenceWord.CANNOT_TELL, said, _more(facts))


def _apart(facts: DifferenceFacts) -> str:
    """Say between what the distance may lie."""
    _, low, high = facts.told
    if low is None:
        return f"at most {in_digits(high, '.1f')} apart" if high is not None else "anything apart"
    if high is None:
        return f"{in_digits(low, '.1f')} or more apart"
    return f"{in_digits(low, '.1f')} to {in_digits(high, '.1f')} apart"


def _more(facts: DifferenceFacts) -> str:
    need = facts.needed.stays
    if need is None or (facts.method.on_request and need > facts.n_answers):
        return (
            "ask about one note by name, side by side: it takes the fewest glasses"
            if not facts.method.on_request
            else "plan fours, or pairs on one named note: both find as much with fewer glasses"
        )
    if need <= facts.n_answers:
        return (
            f"{facts.n_answers} answers would mostly have shown a d-prime of "
            f"{in_digits(facts.towards, 'g')}: "
            "decide whether less than that matters, and plan a new session if it does"
        )
    return (
        f"plan a new session of {need} answers, which finds a d-prime of "
        f"{in_digits(facts.towards, 'g')} 8 times "
        "in 10; these answers do not count in it, or the odds would be off"
    )

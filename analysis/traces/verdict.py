"""Every sentence that judges the course of a note, in one place."""

from __future__ import annotations

from ..agreement.verdict.words import Verdict, capital, count
from ..digits import in_digits
from .result import CourseWord, MeanFound, TraceWord

FEWEST_PEOPLE = 3
BURSTS_BELOW, LINGERS_ABOVE = 0.5, 0.6
"""Equal parts come out near .55, whatever the amount: a word is said on either side of that, once
the whole interval lies there. Measured by `bench_words bursts lingers`."""

IF_IT_BURSTS = "look for it on arrival, and do not count on it in the finish"
IF_IT_LINGERS = "count on it in the finish, and give the nose more air after it"


def course_word(found: MeanFound, bursts_below: float, lingers_above: float) -> TraceWord:
    """Return the word on an index of course that is higher the more of a note stays.

    Whatever the index, a word is said once its whole interval lies on one side of both limits.
    """
    if found.mean is None or found.low is None or found.high is None:
        return TraceWord.TOO_LITTLE
    if found.high < bursts_below:
        return TraceWord.BURSTS
    return TraceWord.LINGERS if found.low > lingers_above else TraceWord.CANNOT_TELL


def trace_verdict(note: str, sample: str, part: MeanFound, n_traces: int) -> Verdict[TraceWord]:
    """Say whether a note bursts or lingers in one sample."""
    word = course_word(part, BURSTS_BELOW, LINGERS_ABOVE)
    if part.mean is None or part.low is None or part.high is None:
        return Verdict(
            word,
            f"How {note} goes in {sample} is not told: {count(n_traces, 'trace')}, of "
            f"{count(part.n_people, 'person', 'people')} who perceived it",
            f"have {FEWEST_PEOPLE} people or more trace it",
        )
    figures = (
        f"{in_digits(100 * part.mean, '.0f')} parts of 100 linger "
        f"({in_digits(100 * part.low, '.0f')} to {in_digits(100 * part.high, '.0f')})"
    )
    if word is TraceWord.BURSTS:
        return Verdict(word, f"In {sample} {note} bursts: {figures}", IF_IT_BURSTS)
    if word is TraceWord.LINGERS:
        return Verdict(word, f"In {sample} {note} lingers: {figures}", IF_IT_LINGERS)
    return Verdict(
        word,
        f"Whether {note} bursts or lingers in {sample} cannot be told yet: {figures}",
        "have more people trace it",
    )


def course_verdict(
    note: str,
    first: str,
    second: str,
    n_people: int,
    interval: tuple[float, float, float] | None,
    needed: int,
) -> Verdict[CourseWord]:
    """Say whether a note takes another course in one sample than in another."""
    if interval is None:
        return Verdict(
            CourseWord.TOO_LITTLE,
            f"{first} and {second} are not compared: {count(n_people, 'person', 'people')} "
            f"perceived {note} in both",
            f"have {FEWEST_PEOPLE} people or more trace both",
        )
    difference, low, high = interval
    if low > 0 or high < 0:
        least, most = sorted((abs(low), abs(high)))
        more, less = (second, first) if difference > 0 else (first, second)
        return Verdict(
            CourseWord.DIFFER,
            f"{capital(note)} takes another course in {more} than in {less}: more of it lingers, "
            f"by {in_digits(100 * abs(difference), '.0f')} parts of 100 "
            f"({in_digits(100 * least, '.0f')} to {in_digits(100 * most, '.0f')})",
            "profile both to know how much of it there is, which is another question",
        )
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"Whether {note} takes another course in {first} than in {second} cannot be told yet: "
        f"in {second} {in_digits(100 * difference, '+.0f')} parts of 100 more linger "
        f"({in_digits(100 * low, '+.0f')} to {in_digits(100 * high, '+.0f')}); not found different "
        "is not found alike",
        f"have {needed} people trace both, which finds a mild difference 8 times in 10"
        if needed > n_people
        else "take both for neither alike nor different in course",
    )

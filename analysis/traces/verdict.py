"""Every sentence that judges the course of a note, in one place."""

from __future__ import annotations

from collections.abc import Sequence

from ..agreement.verdict.words import Verdict, capital
from ..counted import count
from ..digits import in_digits
from .keys import BentBy, Ends, KeysFound
from .parameters import HALF
from .result import CourseWord, Delayed, Later, MeanFound, TraceWord

FEWEST_PEOPLE = 3
BURSTS_BELOW, LINGERS_ABOVE = 0.5, 0.58
"""Equal parts come out near .5, by up to .05 more where some perceive it only after 8 s: a word is
said on either side of that, once the whole interval lies there and the keys agree. Measured by
`bench_words bursts lingers`."""
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


def trace_verdict(
    note: str,
    sample: str,
    part: MeanFound,
    keys: KeysFound,
    n_still_there: int,
    delays: Sequence[Delayed] = (),
) -> Verdict[TraceWord]:
    """Say whether a note bursts or lingers in one sample, perceived so long after others."""
    word = course_word(part, BURSTS_BELOW, LINGERS_ABOVE)
    if part.mean is None or part.low is None or part.high is None:
        return Verdict(
            word,
            f"How {note} goes in {sample} is not told: {count(keys.n_traces, 'trace')}, of "
            f"{count(part.n_people, 'person', 'people')} who perceived it",
            f"have {FEWEST_PEOPLE} people or more trace it",
        )
    figures = (
        f"{in_digits(100 * part.mean, '.0f')} parts of 100 linger "
        f"({in_digits(100 * part.low, '.0f')} to {in_digits(100 * part.high, '.0f')})"
    )
    if word is TraceWord.CANNOT_TELL:
        return Verdict(
            word,
            f"Whether {note} bursts or lingers in {sample} cannot be told yet: {figures}",
            "have more people trace it",
        )
    off = _off_by(word, delays)
    if off is not None:
        return _not_beside_delay(note, sample, figures, off)
    if not keys.faint and (keys.bursts if word is TraceWord.BURSTS else keys.lingers):
        return _said(word, f"In {sample} {note} {word.value}: {figures}", keys, n_still_there)
    return _not_by_keys(word, note, sample, figures, keys)


def _off_by(word: TraceWord, delays: Sequence[Delayed]) -> Delayed | None:
    """Return the delay that alone could make a word, one lag of a person lying between both."""
    sign = 1.0 if word is TraceWord.LINGERS else -1.0
    off = [one for one in delays if sign * one.seconds > 0]
    return max(off, key=lambda one: sign * one.seconds, default=None)


def _not_beside_delay(note: str, sample: str, figures: str, off: Delayed) -> Verdict[TraceWord]:
    """Say that a sample perceived well before or after another could have a word for that alone."""
    seconds = in_digits(abs(off.seconds), ".1f")
    return Verdict(
        TraceWord.CANNOT_TELL,
        f"Whether {note} bursts or lingers in {sample} cannot be told: {figures}, but it is "
        f"perceived {seconds} s {'after' if off.seconds > 0 else 'before'} {off.other} by what "
        "fits the traces best, and that alone could make it",
        f"pour it and {off.other} alike, as much and as warm, and trace them again",
    )


def _said(word: TraceWord, said: str, keys: KeysFound, n_still_there: int) -> Verdict[TraceWord]:
    """Say a word that the keys agree with."""
    if word is TraceWord.LINGERS:
        return Verdict(word, f"{said}; {_left(keys)}", IF_IT_LINGERS)
    stays = n_still_there >= HALF * keys.n_traces
    return Verdict(
        word,
        f"{said}; {_gone(keys)}",
        f"look for it on arrival; a little of it stays, for {n_still_there} of {keys.n_traces} "
        "traces still have it at 60 s"
        if stays
        else IF_IT_BURSTS,
    )


def _not_by_keys(
    word: TraceWord, note: str, sample: str, figures: str, keys: KeysFound
) -> Verdict[TraceWord]:
    """Say that the keys do not bear a word out."""
    cannot = f"Whether {note} bursts or lingers in {sample} cannot be told: {figures}, but"
    if keys.faint:
        return Verdict(
            TraceWord.CANNOT_TELL,
            f"{cannot} keys stood at 0 in {keys.n_at_0} of {keys.n_keys} answers from 10 s on and "
            f"the greatest is {in_digits(keys.greatest, '.0f')} points: what a nose does not key "
            "could be the rest of it",
            "reduce the sample less, and trace it again",
        )
    seen = _gone(keys) if word is TraceWord.BURSTS else _left(keys)
    return Verdict(
        TraceWord.CANNOT_TELL,
        f"{cannot} {seen}, which are not most",
        "read its seconds below: it is neither all at once nor there to the end",
    )


def _gone(keys: KeysFound) -> str:
    return f"at 30 s it is below half of its greatest with {keys.n_half_gone} of {_people(keys)}"


def _left(keys: KeysFound) -> str:
    return f"at 45 s it is half of its greatest or more with {keys.n_half_left} of {_people(keys)}"


def _people(keys: KeysFound) -> str:
    return count(keys.n_people, "person", "people")


def course_verdict(
    note: str,
    first: str,
    second: str,
    found: MeanFound,
    needed: int,
    bent: BentBy | None = None,
    later: Later | None = None,
) -> Verdict[CourseWord]:
    """Say whether a note takes another course in one sample than in another.

    `found` is the linger part of the second less that of the first, by those who traced both;
    `later` what is left of it where one is perceived after the other.
    """
    if found.mean is None or found.low is None or found.high is None:
        return Verdict(
            CourseWord.TOO_LITTLE,
            f"{first} and {second} are not compared: {count(found.n_people, 'person', 'people')} "
            f"perceived {note} in both",
            f"have {FEWEST_PEOPLE} people or more trace both",
        )
    difference, low, high = found.mean, found.low, found.high
    figures = (
        f"in {second} {in_digits(100 * difference, '+.0f')} parts of 100 more linger "
        f"({in_digits(100 * low, '+.0f')} to {in_digits(100 * high, '+.0f')})"
    )
    asked = f"Whether {note} takes another course in {first} than in {second} cannot be told"
    if bent is not None:
        return _bent(f"{asked}: {figures}", bent)
    if low > 0 or high < 0:
        if later is not None and not later.agrees(low, high):
            return _only_later(f"{asked}: {figures}", (first, second), later)
        return _differ(note, (first, second), difference, sorted((abs(low), abs(high))))
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"{asked} yet: {figures}; not found different is not found alike",
        f"have {needed} people trace both, which finds a mild difference 8 times in 10"
        if needed > found.n_people
        else "take both for neither alike nor different in course",
    )


def _bent(said: str, bent: BentBy) -> Verdict[CourseWord]:
    """Say that an end of the keys could make the difference alone."""
    if bent.end is Ends.AT_TOP:
        return Verdict(
            CourseWord.CANNOT_TELL,
            f"{said}, but keys reached 9 in {bent.n} of {bent.of} traces of {bent.sample}: where "
            "the keys end, more of a note looks like another course",
            f"give less of {bent.sample} or reduce it further, and trace again",
        )
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"{said}, but {bent.sample} is the fainter and its keys stood at 0 in {bent.n} of "
        f"{bent.of} answers from 10 s on: less of a note looks like another course there",
        "bring both to about the same strength, and trace again",
    )


def _only_later(said: str, pair: tuple[str, str], later: Later) -> Verdict[CourseWord]:
    """Say that one sample perceived after the other could make the difference alone."""
    before, after = pair if later.seconds > 0 else (pair[1], pair[0])
    seconds = in_digits(abs(later.seconds), ".1f")
    when = (
        f"{after} is perceived {seconds} s {'or more ' if later.longest else ''}after {before} by "
        "what fits the traces best"
        if later.seconds
        else "one may be perceived a little after the other"
    )
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"{said}, but {when}, and that alone could make it",
        _beside_delay(after, later),
    )


def _beside_delay(after: str, later: Later) -> str:
    """Say the way on: more people tell a small delay from a course, and never a long one."""
    if not later.too_long:
        return "have more people trace both; that one comes later may be what is to be known"
    return (
        f"take it that {after} comes later, which may be what is to be known; to compare their "
        "courses pour both alike, as much and as warm, and trace them again"
    )


def _differ(
    note: str, pair: tuple[str, str], difference: float, between: list[float]
) -> Verdict[CourseWord]:
    """Say that more of a note lingers in one sample than in the other."""
    first, second = pair
    more, less = (second, first) if difference > 0 else (first, second)
    least, most = between
    return Verdict(
        CourseWord.DIFFER,
        f"{capital(note)} takes another course in {more} than in {less}: more of it lingers, "
        f"by {in_digits(100 * abs(difference), '.0f')} parts of 100 "
        f"({in_digits(100 * least, '.0f')} to {in_digits(100 * most, '.0f')})",
        "profile both to know how much of it there is, which is another question",
    )

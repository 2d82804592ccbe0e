"""Every sentence that judges where a note lies among the stages, in one place.

The words are those of traces, by the same function (`analysis/traces/verdict.py`).
"""

from __future__ import annotations

import math

from ..agreement.verdict.words import Verdict, capital
from ..counted import count
from ..digits import in_digits
from ..traces.keys import BentBy, Ends
from ..traces.result import CourseWord, MeanFound, TraceWord
from ..traces.verdict import FEWEST_PEOPLE, IF_IT_BURSTS, IF_IT_LINGERS, course_word
from .index import ADDED, FAINTEST
from .result import ratio_told

BURSTS_BELOW, LINGERS_ABOVE = math.log(0.55), math.log(0.65)
"""As much burst as linger comes out at a finish of .59 to .66 of the arrival, whatever the amount:
a word is said once the whole interval lies on one side. Measured by `bench_words`."""


WITH_ADDED = f"with {ADDED:.0f} points added to both,"
"""What stands before a ratio: it is not that of the means in the table."""


def stages_verdict(
    note: str,
    sample: str,
    found: MeanFound,
    n_glasses: int,
    greatest: float | None,
    finish: float | None = None,
) -> Verdict[TraceWord]:
    """Say whether a note bursts or lingers in one sample; `finish` is its mean there, points."""
    word = course_word(found, BURSTS_BELOW, LINGERS_ABOVE)
    if word is TraceWord.TOO_LITTLE or greatest is None:
        return Verdict(
            TraceWord.TOO_LITTLE,
            f"Where {note} lies in {sample} is not told: {count(n_glasses, 'glass', 'glasses')}, "
            f"{count(found.n_people, 'person', 'people')} scored arrival and finish and perceived "
            "it",
            f"have {FEWEST_PEOPLE} people or more score it",
        )
    if is_faint(greatest):
        return Verdict(
            TraceWord.CANNOT_TELL,
            f"Whether {note} bursts or lingers in {sample} cannot be told: {faint_words(greatest)}",
            "take it for a faint note",
        )
    figures = f"{WITH_ADDED} its finish has {ratio_told(found)} of its arrival"
    if word is TraceWord.BURSTS:
        return Verdict(word, f"In {sample} {note} bursts: {figures}", _if_it_bursts(finish))
    if word is TraceWord.LINGERS:
        return Verdict(word, f"In {sample} {note} lingers: {figures}", IF_IT_LINGERS)
    return Verdict(
        word,
        f"Whether {note} bursts or lingers in {sample} cannot be told yet: {figures}",
        "have more people score it",
    )


def _if_it_bursts(finish: float | None) -> str:
    """Return what to do: what is still there in the finish is not told to be gone."""
    if finish is None or finish < FAINTEST:
        return IF_IT_BURSTS
    return f"look for it on arrival; {in_digits(finish, '.0f')} points of it stay in the finish"


def is_faint(greatest: float) -> bool:
    """Say whether there is too little of a note for its course to be told."""
    return greatest < FAINTEST


def faint_words(greatest: float) -> str:
    """Return how faint it is."""
    return (
        f"it reaches {in_digits(greatest, '.0f')} points on arrival or in the finish, and below "
        f"{in_digits(FAINTEST, '.0f')} its course is mostly noise"
    )


def apart_verdict(
    note: str,
    pair: tuple[str, str],
    found: MeanFound,
    needed: int,
    faint: tuple[str, ...] = (),
    bent: BentBy | None = None,
) -> Verdict[CourseWord]:
    """Say whether a note takes another course in the second sample than in the first.

    `found` is the difference of their log ratios, `faint` names the samples that have too little,
    `bent` the one whose scores lie at an end of the line.
    """
    first, second = pair
    if found.mean is None or found.low is None or found.high is None:
        return Verdict(
            CourseWord.TOO_LITTLE,
            f"{first} and {second} are not compared: {count(found.n_people, 'person', 'people')} "
            f"scored and perceived {note} in both",
            f"have {FEWEST_PEOPLE} people or more score both",
        )
    if faint:
        return Verdict(
            CourseWord.CANNOT_TELL,
            f"Whether {note} takes another course in {first} than in {second} cannot be told: "
            f"there is too little of it in {' and in '.join(faint)}",
            "take it for a faint note there",
        )
    if bent is not None:
        return _bent(note, pair, bent)
    if found.low > 0 or found.high < 0:
        return _differ(note, pair, found.mean, found.low, found.high)
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"Whether {note} takes another course in {first} than in {second} cannot be told yet: "
        f"{WITH_ADDED} in {second} the finish has {_times(found.mean)} times as much of its "
        f"arrival as in {first} ({_times(found.low)} to {_times(found.high)}); not "
        "found different is not found alike",
        f"have {needed} people score both, which finds a mild difference 8 times in 10"
        if needed > found.n_people
        else "take both for neither alike nor different in course",
    )


def _differ(
    note: str, pair: tuple[str, str], mean: float, low: float, high: float
) -> Verdict[CourseWord]:
    first, second = pair
    more, less = (second, first) if mean > 0 else (first, second)
    least, most = sorted((abs(low), abs(high)))
    return Verdict(
        CourseWord.DIFFER,
        f"{capital(note)} takes another course in {more} than in {less}: more of it stays; "
        f"{WITH_ADDED} the finish has {_times(abs(mean))} times as much of its arrival "
        f"({_times(least)} to {_times(most)})",
        "read the stages below to see where each has it",
    )


def _bent(note: str, pair: tuple[str, str], bent: BentBy) -> Verdict[CourseWord]:
    """Say that an end of the line could make the difference alone."""
    first, second = pair
    asked = f"Whether {note} takes another course in {first} than in {second} cannot be told"
    if bent.end is Ends.AT_TOP:
        return Verdict(
            CourseWord.CANNOT_TELL,
            f"{asked}: {bent.n} of {count(bent.of, 'glass', 'glasses')} of {bent.sample} stand "
            "near the end of the line, where more of a note looks like another course",
            f"give less of {bent.sample} or reduce it further, and score again",
        )
    return Verdict(
        CourseWord.CANNOT_TELL,
        f"{asked}: {bent.sample} is the fainter and stands near 0 on arrival or in the finish, "
        "where less of a note looks like another course",
        "bring both to about the same strength, and score again",
    )


def _times(log: float) -> str:
    return in_digits(math.exp(log), ".2f")

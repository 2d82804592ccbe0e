"""What a session says of two products: frozen values that know how to become JSON."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable
from .facts import DifferenceFacts, DifferenceWord


@dataclass(frozen=True, repr=False)
class Difference(AsJson, Readable):
    """Two products as one session tells them apart.

    Attributes
    ----------
    n_people
        How many people's answers count.
    least_right
        Fewest right answers that would have been called different; None: no number would.
    left_out
        Sets that do not count, by reason.
    """

    session: str
    facts: DifferenceFacts
    n_people: int
    least_right: int | None
    left_out: Mapping[str, int]
    verdict: Verdict[DifferenceWord]

    json_keys = (*("session", ("facts", "**"), "n_people", "least_right", "left_out", "verdict"),)

    def said(self) -> Iterator[str]:
        """Give the finding, then the figures."""
        yield self.verdict.sentence
        yield from figures(self)


def _of_whom(found: Difference) -> str:
    """Say of whom the interval speaks; the odds of the verdict speak of chance alone."""
    again = found.facts.n_answers > found.n_people
    return " for other people like these, who may differ" if again else ""


def _distance(found: Difference) -> str:
    """Give the distance, towards the product that more answers name, and its interval."""
    facts = found.facts
    d_prime, low, high = facts.told
    sure = f"95 times in 100{_of_whom(found)}"
    towards = f" towards {facts.second}" if facts.towards_second else ""
    if d_prime is not None:
        ends = (_end(low, "no lower end"), _end(high, "no upper end"))
        return f"d-prime{towards} {in_digits(d_prime, '.2f')} ({ends[0]} to {ends[1]}, {sure})"
    if low is not None:
        end = f"without an upper end: at least {in_digits(low, '.2f')}"
    else:
        end = f"without a lower end: at most {_end(high, 'anything')}"
    return f"d-prime{towards} {end} ({sure}), for {facts.no_end}"


def _end(end: float | None, otherwise: str) -> str:
    return otherwise if end is None else in_digits(end, ".2f")


def _beside_the_word(found: Difference) -> str | None:
    """Say why an interval reaches where the word does not, so that neither refutes the other."""
    facts, word, within = found.facts, found.verdict.word, found.facts.alike_within
    low = -math.inf if facts.low is None else facts.low
    high = math.inf if facts.high is None else facts.high
    if word is DifferenceWord.DIFFERENT and low <= 0.0 <= high:
        return (
            "The interval reaches 0 since it allows for people who differ more than these show; "
            "that these answers came by chance alone is as unlikely as is said above."
        )
    if word is DifferenceWord.ALIKE and within is not None and max(-low, high) > within:
        return (
            "The interval reaches beyond that bound since it leaves 2.5 in 100 at each end; alike "
            f"goes by {in_digits(100 * facts.error, 'g')} in 100 at the end that is asked about."
        )
    return None


def figures(found: Difference) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    facts = found.facts
    if not facts.n_answers:
        return
    least = "no number" if found.least_right is None else str(found.least_right)
    of = "of one kind" if facts.both_ways else "right"
    yield (
        f"{_distance(found)}; different from {least} {of} on, of {facts.n_answers} answers of "
        f"{found.n_people} people."
    )
    if told := _beside_the_word(found):
        yield told
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."

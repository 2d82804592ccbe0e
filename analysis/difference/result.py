"""What a session says of two products: frozen values that know how to become JSON."""

from __future__ import annotations

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


def _beside_the_word(found: Difference) -> str | None:
    """Say why an interval reaches where the word does not, so that neither refutes the other."""
    facts, word = found.facts, found.verdict.word
    low, high, within = facts.low or 0.0, facts.high or 0.0, facts.alike_within
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
    if facts.d_prime is None or facts.low is None or facts.high is None:
        return
    yield (
        f"d-prime {in_digits(facts.d_prime, '.2f')} ({in_digits(facts.low, '.2f')} to "
        f"{in_digits(facts.high, '.2f')}, 95 times in 100{_of_whom(found)}); different from "
        f"{'no number' if found.least_right is None else found.least_right} right on, of "
        f"{facts.n_answers} answers of {found.n_people} people."
    )
    if told := _beside_the_word(found):
        yield told
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."

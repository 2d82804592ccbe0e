"""What a session says of two products: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
from ..readable import Readable
from .exact import Needed
from .method import Method


class DifferenceWord(StrEnum):
    """What is said of two products."""

    DIFFERENT = "different"
    ALIKE = "alike"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


@dataclass(frozen=True, repr=False)
class Difference(AsJson, Readable):
    """Two products, and what people answered of them.

    Attributes
    ----------
    first, second
        The products; of the stronger of two, `n_right` counts answers for the first.
    note
        What was asked about; None where it was anything at all.
    both_ways
        Whether either might be the stronger; else it was the first that was expected to be.
    n_answers, n_right, n_people
        Sets that count, those that were right, and people who answered them.
    p_different
        Chance of so many right answers, or more, from products that are the same.
    p_alike
        Largest chance of no more right answers than these from products that are `alike_within`
        apart (None: not asked); where people answer several times, it allows for that.
    d_prime, low, high
        How far apart they are, and a 95 % interval; negative where the second is the stronger.
    needed
        Answers of a new session that find the d-prime `towards` with a power of .8.
    left_out
        Sets that do not count, by reason.
    """

    session: str
    method: Method
    first: str
    second: str
    note: str | None
    both_ways: bool
    error: float
    n_answers: int
    n_right: int
    n_people: int
    least_right: int | None
    p_different: float | None
    d_prime: float | None
    low: float | None
    high: float | None
    alike_within: float | None
    p_alike: float | None
    towards: float
    needed: Needed
    left_out: Mapping[str, int]
    verdict: Verdict[DifferenceWord]

    def said(self) -> Iterator[str]:
        """Give the finding, then the figures."""
        yield self.verdict.sentence
        yield from figures(self)


def figures(found: Difference) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    if found.d_prime is None or found.low is None or found.high is None:
        return
    yield (
        f"d-prime {found.d_prime:.2f} ({found.low:.2f} to {found.high:.2f}); different from "
        f"{'no number' if found.least_right is None else found.least_right} right on, of "
        f"{found.n_answers} answers of {found.n_people} people."
    )
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."

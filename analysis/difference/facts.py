"""What is known of two products before anything is said of them, and the words for it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from .exact import Needed
from .method import Method


class DifferenceWord(StrEnum):
    """What is said of two products."""

    DIFFERENT = "different"
    ALIKE = "alike"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


@dataclass(frozen=True)
class DifferenceFacts:
    """Two products, and what people answered of them.

    Attributes
    ----------
    first, second
        The products; of the stronger of two, `n_right` counts answers for the first.
    note
        What was asked about; None where it was anything at all.
    both_ways
        Whether either might be the stronger; else it was the first that was expected to be.
    error
        How often a word may be said where it is false.
    n_answers, n_right
        Sets that count, and those that were right.
    p_different
        Chance of so many right answers, or more, from products that are the same.
    d_prime, low, high
        How far apart they are, and a 95 % interval; negative where the second is the stronger. None
        where answers set no end to it.
    no_end
        Why there is no end; None where there is one.
    which_is_sure
        Whether the one that more answers name would be named by more of other people too: what
        people differ by, where they repeat, is allowed for. None where nothing is named.
    alike_within, p_alike
        d-prime within which they were to be called alike (None: not asked), and the largest chance
        of no more right answers than these from products so far apart; where people answer several
        times, it allows for that.
    towards, needed
        A d-prime, and answers of a new session that find it with a power of .8.
    """

    method: Method
    first: str
    second: str
    note: str | None
    both_ways: bool
    error: float
    n_answers: int
    n_right: int
    p_different: float | None
    d_prime: float | None
    low: float | None
    high: float | None
    no_end: str | None
    which_is_sure: bool | None
    alike_within: float | None
    p_alike: float | None
    towards: float
    needed: Needed

    @property
    def towards_second(self) -> bool:
        """Whether figures are told towards the second product, which more answers name."""
        return self.both_ways and 2 * self.n_right < self.n_answers

    @property
    def told(self) -> tuple[float | None, float | None, float | None]:
        """d-prime and its interval, towards the product that is told of."""
        ends = (self.d_prime, self.low, self.high)
        if not self.towards_second:
            return ends
        middle, high, low = (None if end is None else -end for end in ends)
        return middle, low, high

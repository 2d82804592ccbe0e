"""What a session says of two products: frozen values that know how to become JSON."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from ..agreement.verdict.words import Verdict
from ..as_json import AsJson
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


def figures(found: Difference) -> Iterator[str]:
    """Give the figures behind a finding as sentences."""
    facts = found.facts
    if facts.d_prime is None or facts.low is None or facts.high is None:
        return
    yield (
        f"d-prime {facts.d_prime:.2f} ({facts.low:.2f} to {facts.high:.2f}); different from "
        f"{'no number' if found.least_right is None else found.least_right} right on, of "
        f"{facts.n_answers} answers of {found.n_people} people."
    )
    if found.left_out:
        listed = ", ".join(f"{n} {why}" for why, n in found.left_out.items())
        yield f"Left out: {listed}."

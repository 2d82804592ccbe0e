"""Rows: nosing is said to be enough, and the casks chosen fall short of the best after all."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from analysis.next_glasses import NextSettings
from tests.bench.next_worlds import house
from tests.bench.word_rates import Row

ENOUGH = "stop nosing and decide"
_LIMIT = 1.0
_FAR = 2.0 * _LIMIT
RULES = {
    ENOUGH: "six sessions or more were held, and the mean of the casks chosen is expected to be "
    f"off by at most {_LIMIT:g} point more than that of the best, by draws from the spread that "
    "the casks of the house show (normal below eight nosed casks); false where it is more than "
    f"{_FAR:g} points",
}
_SESSIONS = 20
_WHERE = {
    "normal": "five of 60 casks",
    "skewed": "five of 60 casks, few of them far better than their records foretell",
    "two_groups": "five of 60 casks of two groups",
}
_ASKED = 0.2


@dataclass(frozen=True)
class Stop:
    """A house that noses what is proposed until it is told to stop; points it then falls short."""

    kind: str

    def __call__(self, seed: int) -> float | None:
        """Return by how much the casks chosen fall short; None where nobody said to stop."""
        from tests.bench.next_policies import Glasses, Step

        def enough(step: Step) -> bool:
            held, told = step.session + 1, step.promised
            early = held < NextSettings().fewest_sessions
            return not early and told is not None and told <= _LIMIT

        policy = Glasses(house(seed, self.kind), told=True)
        policy.run(_SESSIONS, enough)
        return policy.last.regret if enough(policy.last) else None


def far_off(short: float | None) -> Iterator[bool]:
    """Whether the word was false, where it was said."""
    if short is not None:
        yield short > _FAR


def rows() -> Iterator[Row]:
    """Every row."""
    for kind, where in _WHERE.items():
        yield Row(
            *(f"next-stop-{kind}", ENOUGH, f"{where}: short by more than {_FAR:g} points"),
            asked=_ASKED,
            false=True,
            draw=Stop(kind),
            read=far_off,
            draws=60,
            most=140,
            of="houses",
        )

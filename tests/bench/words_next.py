"""Rows: nosing is said to be enough, and the casks chosen fall short or miss their intervals."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.next_glasses import NextSettings
from tests.bench.next_worlds import BEST, house
from tests.bench.word_rates import Row

if TYPE_CHECKING:
    from tests.bench.next_policies import Step

ENOUGH = "stop nosing and decide"
BAND = "an interval of a cask chosen misses it"
_LIMIT = 1.0
_FAR = 2.0 * _LIMIT
RULES = {
    ENOUGH: "six sessions or more were held, and the mean of the casks chosen is expected to be "
    f"off by at most {_LIMIT:g} point more than that of the best, by draws from the spread that "
    "the casks of the house show (normal below eight nosed casks); false where it is more than "
    f"{_FAR:g} points",
    BAND: "95 % intervals of the five casks chosen when it is said to stop, as the one model over "
    "all sessions tells them: it takes casks for normal",
}
_SESSIONS = 20
_WHERE = {
    "normal": "five of 60 casks",
    "skewed": "five of 60 casks, few of them far better than their records foretell",
    "two_groups": "five of 60 casks of two groups",
}
_ASKED, _MISSES = 0.2, 0.08


def said_to_stop(step: Step) -> bool:
    """Whether the house was told to stop after a session."""
    held, told = step.session + 1, step.promised
    return held >= NextSettings().fewest_sessions and told is not None and told <= _LIMIT


@dataclass(frozen=True)
class Stop:
    """A house that noses what is proposed until it is told to stop; what it then has."""

    kind: str

    def __call__(self, seed: int) -> Step | None:
        """Return the session after which it stops; None where nobody said so."""
        from tests.bench.next_policies import Glasses

        policy = Glasses(house(seed, self.kind), told=True)
        policy.run(_SESSIONS, said_to_stop)
        return policy.last if said_to_stop(policy.last) else None


def far_off(step: Step | None) -> Iterator[bool]:
    """Whether the word was false, where it was said."""
    if step is not None:
        yield step.regret > _FAR


def misses(step: Step | None) -> Iterator[bool]:
    """Whether the interval of each cask chosen misses it."""
    if step is not None and step.covered is not None:
        held = round(BEST * step.covered)
        yield from (n >= held for n in range(BEST))


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
            most=100,
            of="houses",
        )
        yield Row(
            *(f"next-band-{kind}", BAND, where),
            asked=_MISSES,
            false=True,
            draw=Stop(kind),
            read=misses,
            draws=60,
            most=100,
            of="houses",
        )

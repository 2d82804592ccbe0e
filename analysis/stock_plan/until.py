"""The outer limit of a search by the clock; what ends by itself ends by counts of work."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import perf_counter

_LEAST = 0.05


class TimeIsOver(Exception):
    """A limit was met before what was tried came to its end: what it comes to is not known."""


@dataclass(eq=False)
class Until:
    """So many seconds from now.

    Attributes
    ----------
    seconds
        How long.
    clock
        Seconds, rising.
    met
        Whether the limit, or that of a part, was ever met: the answer then hangs on the machine,
        which has to be said of it.
    whole
        The limit that this is a part of.
    """

    seconds: float
    clock: Callable[[], float] = perf_counter
    met: bool = False
    whole: Until | None = None
    began: float = field(init=False)
    cut: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        self.began = self.clock()

    def over(self) -> bool:
        """Whether the time is over; one that is stays so."""
        self.met = self.met or self.clock() - self.began > self.seconds
        if self.met and self.whole is not None:
            self.whole.cut = True
        return self.met

    @property
    def bit(self) -> bool:
        """Whether the clock ended anything."""
        return self.over() or self.cut

    def in_time(self) -> None:
        """End what is tried here once the time is over.

        Raises
        ------
        TimeIsOver
            It is.
        """
        if self.over():
            raise TimeIsOver

    def part(self, share: float) -> Until:
        """A limit of its own for the first steps, so that the later ones have time as well."""
        part = Until(share * self.seconds, self.clock, whole=self)
        part.began = self.began
        return part

    @property
    def left(self) -> float:
        """Seconds that a step may still take; a little even where none are left."""
        return max(self.seconds - (self.clock() - self.began), _LEAST)


def no_limit() -> Until:
    """As long as it takes."""
    return Until(float("inf"))


def in_turn(some: Sequence[object], first: float = 0.0, last: float = 1.0) -> list[float]:
    """Shares of a limit by which each of some has to be done: what one leaves the next ones have.

    Examples
    --------
    >>> in_turn(["R0", "R1"], last=0.5)
    [0.25, 0.5]
    """
    return [first + (last - first) * turn / len(some) for turn in range(1, len(some) + 1)]

"""What a session has room for, and what there is to pour."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ..errors import InputError

POOL = 12
"""Different casks in a session: with more, nobody can say how an evening was for any of them."""
FIRST_POOL = 8
"""Casks of the first session: enough for each to be nosed by several people."""
BLEND = "bench blend"
"""Name of the glass that holds a whole vatting, where a cask's would stand."""


@dataclass(frozen=True)
class Room:
    """What limits the next session; reference, duplicate and warm-up are on top of it.

    Attributes
    ----------
    seats
        Test glasses of each person who comes.
    pool
        Most different casks.
    samples
        By cask, the sample that is at hand; a cask that is not here has to be drawn first.
    glasses
        By cask, most glasses that its sample (or what may be drawn) gives; a cask that is not
        here has enough for everybody.
    grams, grams_a_glass
        Ethanol that each person may still have, and that of one glass; nobody is limited
        without them.
    peat
        By cask, its class of peat; a cask that is not here is of class 0.
    most_classes
        Most different classes of peat in the session: the flights, where each has its own. None
        where the classes are balanced within flights.
    sheds, shed_price
        By cask, where it lies, and what it costs to go to one place more, in what a glass adds
        as the filling weighs it. Samples at hand cost nothing.
    asked, stay, without
        Casks that are poured whatever they add: somebody asked for them, or they stay where others
        are exchanged; and those that are not poured.
    """

    seats: Mapping[str, int]
    pool: int = POOL
    samples: Mapping[str, str] = field(default_factory=dict)
    glasses: Mapping[str, int] = field(default_factory=dict)
    grams: Mapping[str, float] = field(default_factory=dict)
    grams_a_glass: float = 0.0
    peat: Mapping[str, int] = field(default_factory=dict)
    most_classes: int | None = None
    sheds: Mapping[str, str] = field(default_factory=dict)
    shed_price: float = 0.0
    asked: tuple[str, ...] = ()
    stay: tuple[str, ...] = ()
    without: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        """Refuse room that means nothing."""
        if any(count < 0 for count in self.seats.values()):
            raise InputError("Seats cannot be fewer than none. Give 0 for who does not come.")
        if self.pool < 1:
            raise InputError("A session has at least one cask. Give a pool of 1 or more.")
        if len(self.named) > self.pool:
            raise InputError(
                f"{len(self.named)} casks are asked for by name and the session has room for "
                f"{self.pool}. Ask for fewer."
            )

    @property
    def named(self) -> tuple[str, ...]:
        """Every cask that is poured whatever it adds."""
        return tuple(dict.fromkeys((*self.asked, *self.stay)))

    @property
    def assessors(self) -> tuple[str, ...]:
        """Who comes, in order of names."""
        return tuple(sorted(name for name in self.seats if self.seats_of(name)))

    def seats_of(self, assessor: str) -> int:
        """Test glasses that somebody may have, ethanol counted in."""
        seats = self.seats.get(assessor, 0)
        if assessor not in self.grams or self.grams_a_glass <= 0.0:
            return seats
        return min(seats, max(0, int(self.grams[assessor] / self.grams_a_glass + 1e-9)))

    def glasses_of(self, cask: str) -> int:
        """Most glasses of a cask."""
        return self.glasses.get(cask, len(self.seats))

"""The rules at a set of glasses: which stand in it, what an answer is, when it is whole.

Pure functions of a tray; they know no database and no screen. An answer gives each glass of the set
a place: 1 for the stronger of two or for the odd one, 2 for the rest; 1 and 2 for the two groups of
a sorting, the reference and what is like it among the first; in a ranking 1 for the first, equal
places shared.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from panel.errors import BoothError, WrongGlass
from panel.kinds import KindFacts, Task
from panel.session.scoring import glass_in_hand, poured
from panel.store.booth_tray import Glass, Tray

NO_SET = "No set is in your hand now. Type the code of its first glass."
SHORT = "The lead took a glass of this set out: it cannot be answered. Leave it, and go on."


class Placed(Protocol):
    """A glass and where it stands, in the records or at a booth."""

    @property
    def code(self) -> str:
        """Its code."""
        ...

    @property
    def flight(self) -> int:
        """The set it stands in."""
        ...

    @property
    def position(self) -> int | None:
        """Its place on the tray."""
        ...


@dataclass(frozen=True)
class GlassSet:
    """The glasses of one set in their order; `short` where the lead took one out for good."""

    number: int
    glasses: tuple[Glass, ...]
    short: bool


def set_in_hand(tray: Tray) -> GlassSet | None:
    """Return the set of which a glass was taken up, None between two sets."""
    held = glass_in_hand(tray)
    return None if held is None else set_of(tray, held.flight)


def set_of(tray: Tray, flight: int) -> GlassSet:
    """Return the set of a number."""
    here = tuple(glass for glass in poured(tray) if glass.flight == flight)
    places = {glass.position for glass in tray.glasses if glass.flight == flight}
    return GlassSet(flight, here, short=len(here) < len(places))


def marked_references(facts: KindFacts, tray: Iterable[Placed]) -> frozenset[str]:
    """Return the codes on a tray that are openly marked: the first of each set, where any is.

    That they are marked tells no product: either may be the reference, and who is told which was
    told before the first glass.
    """
    if not facts.marks_reference:
        return frozenset()
    first: dict[int, Placed] = {}
    for glass in tray:
        held = first.setdefault(glass.flight, glass)
        if (glass.position or 0) < (held.position or 0):
            first[glass.flight] = glass
    return frozenset(glass.code for glass in first.values())


def task_of(tray: Tray) -> Task:
    """Return what is done with the sets of a tray.

    Raises
    ------
    BoothError
        Its glasses stand in no sets.
    """
    task = tray.held_as.facts.task
    if task is None:
        raise BoothError("In this session glasses are scored one by one, not set by set.")
    return task


def answerable(task: Task, one: GlassSet) -> bool:
    """Say whether a set can be answered: what is left of a short one can only be ranked."""
    return not one.short or (task is Task.RANK and len(one.glasses) > 1)


@dataclass(frozen=True)
class Answering:
    """An answer as far as it is given: groups of glasses by their numbers in the set, from 0.

    But for a ranking one number is given: what is picked, or what goes with the first.
    """

    task: Task
    size: int
    groups: tuple[tuple[int, ...], ...] = ()
    equal_next: bool = False

    @property
    def given(self) -> tuple[int, ...]:
        """Every number given, in order."""
        return tuple(number for group in self.groups for number in group)

    @property
    def whole(self) -> bool:
        """Whether it can be kept."""
        return len(self.given) == (self.size if self.task is Task.RANK else 1)

    def with_number(self, number: int) -> Answering:
        """Return the answer with one number more; of two products the later one counts.

        Raises
        ------
        BoothError
            No such glass; the first, where another goes with it; or one that has a place already.
        """
        if not 0 <= number < self.size:
            raise BoothError(f"The glasses are 1 to {self.size}.")
        if self.task.beside_first and number == 0:
            raise BoothError("Which of the others goes with 1?")
        if self.task is not Task.RANK:
            return replace(self, groups=((number,),))
        if number in self.given:
            raise BoothError(f"{number + 1} has a place already.")
        if self.equal_next and self.groups:
            groups = (*self.groups[:-1], (*self.groups[-1], number))
        else:
            groups = (*self.groups, (number,))
        return replace(self, groups=groups, equal_next=False)

    def with_equal(self) -> Answering:
        """Return the answer with the next glass on the place of the last one; only in a ranking."""
        if self.task is not Task.RANK or not self.groups or self.whole:
            return self
        return replace(self, equal_next=not self.equal_next)

    def without_last(self) -> Answering:
        """Return the answer without the number given last."""
        if not self.groups:
            return self
        last = self.groups[-1][:-1]
        groups = (*self.groups[:-1], last) if last else self.groups[:-1]
        return replace(self, groups=groups, equal_next=False)

    def places(self) -> tuple[int, ...]:
        """Return the place of each glass of the set; only of a whole answer."""
        if self.task is not Task.RANK:
            chosen = {*self.given, *((0,) if self.task.beside_first else ())}
            return tuple(1 if number in chosen else 2 for number in range(self.size))
        place, found = 1, [0] * self.size
        for group in self.groups:
            for number in group:
                found[number] = place
            place += len(group)
        return tuple(found)


def check_answer(tray: Tray, number: int, places: Mapping[int, int]) -> None:
    """Refuse an answer that is none of the set in hand; an empty one leaves a short set.

    Raises
    ------
    WrongGlass
        Another set is in hand, or none; or the set can no longer be answered.
    BoothError
        The places are none of this kind.
    """
    one, task = set_in_hand(tray), task_of(tray)
    if one is None or one.number != number:
        raise WrongGlass(NO_SET)
    if not answerable(task, one):
        if places:
            raise WrongGlass(SHORT)
        return
    if {glass.serving_id for glass in one.glasses} != set(places):
        raise WrongGlass("The glasses of this set have changed. Look at it again.")
    if not sound_places(task, [places[glass.serving_id] for glass in one.glasses]):
        codes = ", ".join(f"{glass.code} {places[glass.serving_id]}" for glass in one.glasses)
        raise BoothError(f"{codes}: that is no answer to this set. Places are {PLACES_ARE[task]}.")


def sound_places(task: Task, places: Sequence[float]) -> bool:
    """Say whether places, in the order of the glasses, are those of an answer."""
    if task is Task.RANK:
        return all(place == 1 + sum(other < place for other in places) for place in places)
    return sorted(places) == GIVEN[task] and not (task.marks_first and places[0] != 1)


GIVEN = {
    Task.PICK: [1, 2],
    Task.SORT: [1, 1, 2, 2],
    Task.ODD: [1, 2, 2],
    Task.MATCH: [1, 1, 2],
}
"""The places of a whole answer, sorted."""
PLACES_ARE = {
    Task.PICK: "1 for the stronger, 2 for the other",
    Task.SORT: "1 twice and 2 twice",
    Task.RANK: "1 for the first, equal places shared, as 1, 2, 2, 4",
    Task.ODD: "1 for the odd one, 2 for both others",
    Task.MATCH: "1 for the reference and for what is like it, 2 for the other",
}
"""What the places of a set are, for who keys them in."""

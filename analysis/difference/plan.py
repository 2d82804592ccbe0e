"""What so many answers can tell of two products, before a glass is poured."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from ..as_json import AsJson
from ..chance_words import in_100
from ..digits import in_digits
from ..errors import InputError
from ..readable import Readable
from .alike_power import needed_alike_of, power_alike_of
from .exact import (
    Asked,
    Needed,
    least_right,
    needed_different,
    power_different,
)
from .method import Method, right
from .settings import DEFAULT, DifferenceSettings

CHEAPER = (
    Asked(Method.TWO_AND_TWO),
    Asked(Method.STRONGER),
    Asked(Method.STRONGER, both_ways=False),
)
"""What is laid beside a way to ask that wants more glasses."""
CALLED = {
    (Method.STRONGER, False): "pairs on it with the stronger named before",
    (Method.STRONGER, True): "pairs on the one note in which they differ",
    (Method.TWO_AND_TWO, False): "fours",
}
"""What they are called, by whether both ends count."""
NEVER = "never, whatever is answered"
REPEATS = (
    "Each answers more than once. Alike has to hold for other people too, who may differ; of that "
    "few people show little, however often they answer. So it is reckoned by the rule of the "
    "finding, person by person, for people who are equal; where they differ it is said more seldom"
)


@dataclass(frozen=True)
class PowerAt:
    """Chance that products so far apart are called different.

    `right` is the share of single answers that are then right.
    """

    d_prime: float
    right: float
    power: float


@dataclass(frozen=True)
class Cheaper:
    """Another way to ask, and the answers and glasses with which it finds the same difference."""

    method: Method
    both_ways: bool
    answers: int
    glasses: int


@dataclass(frozen=True, repr=False)
class DifferencePlan(AsJson, Readable):
    """What a number of answers can tell, reckoned exactly.

    Only alike of people who answer several times is drawn where its outcomes are too many to count.

    Attributes
    ----------
    answers, people
        Sets answered in all, and by how many people.
    least_right
        Fewest right answers that are called different; None: with so few answers none can be.
    power
        Chance to be called different, by distance.
    different_d_prime, different
        Distance that answers are reckoned for, and how many find it with the power `enough`.
    alike_power, alike
        Chance that the same product twice is called alike within `alike_within`, and answers with
        which that is `enough`, each person answering as often as here; None where nothing is to be
        called alike.
    glasses
        Glasses that all answers take.
    cheaper
        Other ways to ask that find `different_d_prime` as surely with fewer glasses; told of those
        that are asked on request only.
    """

    method: Method
    answers: int
    people: int
    both_ways: bool
    error: float
    least_right: int | None
    power: tuple[PowerAt, ...]
    enough: float
    different_d_prime: float
    different: Needed
    alike_within: float | None
    alike_power: float | None
    alike: Needed | None
    glasses: int
    cheaper: tuple[Cheaper, ...] = ()

    def said(self) -> Iterator[str]:
        """Give what the answers can tell, and how many would do."""
        yield from plan_sentences(self)

    def rows(self) -> Iterable[object]:
        """Give the power by distance."""
        return self.power


def plan_difference(
    asked: Asked, answers: int, people: int, settings: DifferenceSettings = DEFAULT
) -> DifferencePlan:
    """Reckon what a number of answers can tell of two products.

    Parameters
    ----------
    answers
        Sets answered in all.
    people
        By how many people; each answers as often as the others.

    Raises
    ------
    InputError
        No answers, people who do not answer equally often, or a distance that means nothing.

    Examples
    --------
    >>> found = plan_difference(Asked(Method.STRONGER, both_ways=False), 26, 13)
    >>> found.least_right, round(found.power[1].power, 2)
    (18, 0.85)
    """
    if answers < 1 or people < 1:
        raise InputError("A difference takes one answer at least.")
    if asked.alike_within is not None and not 0.0 < asked.alike_within <= 4.0:
        raise InputError(
            f"Alike within a d-prime of {in_digits(asked.alike_within, 'g')}: it lies above "
            "0 and up to 4."
        )
    if answers % people:
        raise InputError(f"{people} people cannot give {answers} answers, each as many.")
    within, each = asked.alike_within, answers // people
    towards = settings.usual if within is None else within
    error = asked.error / 2.0 if asked.two_sided else asked.error
    different = needed_different(asked, towards, settings.power)
    return DifferencePlan(
        method=asked.method,
        answers=answers,
        people=people,
        both_ways=asked.two_sided,
        error=asked.error,
        least_right=least_right(answers, asked.method.guess, error),
        power=tuple(
            PowerAt(d, right(asked.method, d), power_different(asked, answers, d))
            for d in sorted({*settings.distances, towards})
        ),
        enough=settings.power,
        different_d_prime=towards,
        different=different,
        alike_within=within,
        alike_power=None if within is None else power_alike_of(asked, people, each),
        alike=None if within is None else needed_alike_of(asked, each, settings.power),
        glasses=answers * asked.method.glasses,
        cheaper=tuple(_cheaper(asked, different, towards, settings.power)),
    )


def _cheaper(asked: Asked, different: Needed, towards: float, enough: float) -> Iterator[Cheaper]:
    """Give what finds the same with fewer glasses, beside what is asked on request only."""
    if not asked.method.on_request:
        return
    mine = None if different.stays is None else different.stays * asked.method.glasses
    for other in CHEAPER:
        answers = needed_different(other, towards, enough).stays
        if answers is not None and (mine is None or answers * other.method.glasses < mine):
            glasses = answers * other.method.glasses
            yield Cheaper(other.method, other.two_sided, answers, glasses)


def plan_sentences(plan: DifferencePlan) -> Iterator[str]:
    """Give what a plan can tell as sentences, the power before the first glass among them."""
    said = f"{plan.answers} answers" if plan.answers != 1 else "1 answer"
    if plan.least_right is None:
        yield f"{said}: too few to be called different, whatever is answered."
    else:
        of = "of one kind" if plan.both_ways else "right"
        yield (
            f"{said}: different from {plan.least_right} {of} on (by chance in at most "
            f"{in_100(plan.error)})."
        )
        chances = ", ".join(
            (f"{in_digits(at.d_prime, 'g')}: {in_100(at.power)}") for at in plan.power
        )
        yield f"Found, by how far the two are apart (d-prime): {chances}."
    yield (
        f"For a d-prime of {in_digits(plan.different_d_prime, 'g')}: "
        f"{_needed(plan.different, plan.enough)}."
    )
    yield from _cheaper_words(plan)
    if plan.alike_within is None or plan.alike_power is None or plan.alike is None:
        return
    each = plan.answers // plan.people
    chance = in_100(plan.alike_power) if plan.alike_power else NEVER
    yield (
        f"Alike within a d-prime of {in_digits(plan.alike_within, 'g')}, should they be the same: "
        f"{chance}; {_needed(plan.alike, plan.enough, each)}."
    )
    if each > 1:
        yield f"{REPEATS}."


def _cheaper_words(plan: DifferencePlan) -> Iterator[str]:
    """Say how many glasses that is, and what finds as much with fewer."""
    if not plan.cheaper:
        return
    others = "; ".join(
        f"{CALLED[other.method, other.both_ways]}, {_glasses(other.glasses)} "
        f"({other.answers} answers)"
        for other in plan.cheaper
    )
    stays = plan.different.stays
    mine = "more than anybody pours" if stays is None else _glasses(stays * plan.method.glasses)
    yield (
        f"That takes {mine}. With fewer it is found by {others}. Ask for those, unless somebody "
        "asks for this way by name."
    )


def _glasses(n: int) -> str:
    return f"{in_digits(n, ',')} glasses"


def _needed(needed: Needed, enough: float, each: int = 1) -> str:
    times = f"{round(100 * enough)} times in 100"
    if needed.stays is None or needed.first is None:
        return f"more answers than anybody gives for {times}"
    of = f" of {needed.stays // each} people" if each > 1 else ""
    if needed.first == needed.stays:
        return f"{needed.stays} answers{of} find it {times}"
    return f"{needed.stays} answers{of} find it {times} (first {needed.first})"

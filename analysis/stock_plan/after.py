"""What is looked for once the casks are chosen: what would mend a release, what cannot stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import floor

import numpy as np

from ..array_types import Floats
from ..counted import count
from ..digits import in_digits
from ..errors import StoppedError
from ..under_way import Stage, step
from .blocks import Block, HouseRow, Problem
from .chances import vatting_of
from .fewer import Had, filled_by_own
from .in_the_way import in_the_way
from .mends import mends_for
from .result import FILLS, Mend, MendKind, ReleasePlan, TogetherNot, WhyFewer
from .together import Conflict, find_conflicts
from .until import TimeIsOver, Until, in_turn
from .verdict import filled_now_words, together_sentence

_MENDED = 3
"""Releases of which every change is looked for; of the others only what is in their way."""
_FOR_MENDS = 0.5
"""Of the time; what cannot stand together has the rest."""


@dataclass(frozen=True)
class After:
    """What was found.

    Attributes
    ----------
    releases, together_not
        As of :class:`StockPlan`.
    mends_open, together_open
        As of :class:`StockPlan`: what the time did not reach to.
    stopped
        Whether whoever waited for it stopped it.
    """

    releases: tuple[ReleasePlan, ...]
    together_not: TogetherNot | None = None
    mends_open: tuple[str, ...] = ()
    together_open: bool = False
    stopped: bool = False


def looked_after(
    problem: Problem,
    fractions: list[Floats],
    releases: tuple[ReleasePlan, ...],
    until: Until,
    *,
    mends: bool,
    conflicts: bool,
) -> After:
    """Look for what would mend releases that fail, then for what cannot stand together.

    Parameters
    ----------
    problem, fractions, releases
        The plan.
    until
        The limit by the clock: each release has its part, and the time that others left.
    mends, conflicts
        Which of the two is looked for.
    """
    found = After(releases)
    try:
        if mends:
            for at, release, whole in _mended(problem, fractions, releases, until):
                there = (*found.releases[:at], release, *found.releases[at + 1 :])
                left = found.mends_open if whole else (*found.mends_open, release.name)
                found = replace(found, releases=there, mends_open=left)
        if conflicts:
            together, whole = _conflict(problem, fractions, found.releases, until)
            found = replace(found, together_not=together, together_open=not whole)
    except StoppedError:  # what is there by then is told
        found = replace(found, stopped=True)
    return found


def _mended(
    problem: Problem, fractions: list[Floats], releases: tuple[ReleasePlan, ...], until: Until
) -> Iterator[tuple[int, ReleasePlan, bool]]:
    """Look for what would mend the first few that fail, and what is in the way of the others.

    Gives each, and whether it came to its end. One that lacks a cask it must have is done at once
    and is none of the few.
    """
    failing = [at for at, each in enumerate(releases) if each.fails]
    beyond = {at for at in failing if not releases[at].must_have}
    beyond.difference_update(sorted(beyond)[:_MENDED])
    for turn, (at, share) in enumerate(
        zip(failing, in_turn(failing, last=_FOR_MENDS), strict=True)
    ):
        step(Stage.MENDING, turn, len(failing))
        part = until.part(share)
        yield (at, *_mend(problem, fractions, at, releases[at], part, every=at not in beyond))
    if failing:
        step(Stage.MENDING, len(failing), len(failing))


def _mend(
    problem: Problem,
    fractions: list[Floats],
    at: int,
    release: ReleasePlan,
    until: Until,
    *,
    every: bool,
) -> tuple[ReleasePlan, bool]:
    block, given = problem.blocks[at], fractions[at]
    vatting = vatting_of(block, given) if np.any(given > 0.0) else None
    mends: list[Mend] = []
    way = None
    try:
        for mend in mends_for(problem, fractions, at, vatting, until) if every else ():
            mends.append(mend)  # noqa: PERF402  (what was found stays where the time ends it)
        filled = any(mend.kind in FILLS and mend.is_enough for mend in mends)
        if not filled and not release.must_have:
            way = in_the_way(problem, fractions, at, until)
    except TimeIsOver:
        return replace(release, mends=tuple(mends)), False
    return replace(release, mends=tuple(mends), in_the_way=way), True


def _conflict(
    problem: Problem, fractions: list[Floats], releases: tuple[ReleasePlan, ...], until: Until
) -> tuple[TogetherNot | None, bool]:
    """What cannot stand together, and whether it was looked for to its end."""
    missing = [at for at, each in enumerate(releases) if each.missing > 0.0]
    try:
        found = find_conflicts(problem, until, missing) if missing else ()
    except TimeIsOver:
        return None, False
    if not found:
        return None, True
    told = [_told_of(each, releases, problem, fractions) for each in found]
    return TogetherNot(
        releases=tuple(name for each in told for name in each.releases),
        each_alone=len(found[0].releases) == 1,
        proven=all(each.proven for each in told),
        house=tuple(dict.fromkeys(words for each in told for words in each.house)),
        nearest={name: most for each in told for name, most in each.nearest.items()},
        sentence=" ".join(each.sentence for each in told),
    ), not any(each.cut for each in found)


def _told_of(
    found: Conflict,
    releases: tuple[ReleasePlan, ...],
    problem: Problem,
    fractions: list[Floats],
) -> TogetherNot:
    """Name the releases of a conflict, the limits of the house in it, and amounts to be had."""
    names = tuple(problem.blocks[at].release.name for at in found.releases)
    already = problem.question.house.drawn_already
    house = tuple(_house_words(problem.house[at], already) for at in found.house)
    most: dict[str, int] = {}
    words: dict[str, str] = {}
    for at in found.releases:
        release = problem.blocks[at].release
        nearest = _nearest(found, releases, problem, fractions, at)
        if nearest is None:
            continue
        most[release.name] = amount = nearest.amount - release.kept_bottles
        unit = "bottle" if release.limits.bottles is not None else "litre"
        low = releases[at].bottles_low
        # in a set the others get theirs: that is why it is less than what stands in the table
        both = unit == "bottle" and len(names) == 1 and amount < low
        why = WhyFewer.COUNTED if nearest.own else WhyFewer.TRIED
        beside = filled_now_words(why, low) if both else ""
        words[release.name] = f"with {count(amount, unit)}{beside}"
    whole = any(problem.blocks[at].release.limits.whole for at in found.releases)
    said = together_sentence(
        *(names, house, words),
        proven=found.proven,
        whole=whole,
        spent=found.spent,
        barred=found.barred,
        cut=found.cut,
    )
    return TogetherNot(names, len(names) == 1, found.proven, house, most, said)


def _nearest(
    found: Conflict,
    releases: tuple[ReleasePlan, ...],
    problem: Problem,
    fractions: list[Floats],
    at: int,
) -> Had | None:
    """The amount that is told of a release, with those that are kept: the most that can be had.

    Where it alone of the set lacks any, its mend was tried with all others as they are, and so is
    what its casks in the plan fill.
    """
    amount, kept = found.nearest.get(at, 0), problem.blocks[at].release.kept_bottles
    others = [each for each in found.releases if each != at]
    own = False
    if not any(releases[other].missing > 0.0 for other in others):
        fewer = (mend.bottles for mend in releases[at].mends if mend.kind is MendKind.FEWER)
        amount = max([amount, *(bottles + kept for bottles in fewer if bottles is not None)])
        there = _there(problem.blocks[at], releases[at])
        filled = filled_by_own(problem, fractions, at, there) if there >= amount else None
        if filled is not None and filled[1] >= amount:
            amount, own = filled[1], True
    return None if amount <= kept else Had(amount, own)


def _there(block: Block, release: ReleasePlan) -> int:
    """Bottles that the casks of a release fill in the plan at most, as its quantity is counted."""
    share = (1.0 - release.missing) * (block.release.limits.bottles or 0)
    return min(floor(share), release.bottles_low + release.kept_bottles)


def _house_words(row: HouseRow, already: Mapping[int, float]) -> str:
    if row.year is None:
        return f"{row.name} left at the end"
    spent = already.get(row.year, 0.0)
    more = f" beside the {in_digits(spent, ',.0f')} L proposed already" if spent > 0.0 else ""
    return f"at most {in_digits(row.limit, ',.0f')} L drawn in {row.year}{more}"

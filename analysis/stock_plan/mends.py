"""What would mend a release that fails: casks to fill, a note to widen, fewer bottles, another day.

Each is tried on what the other releases leave, and told only where it does what it says.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import replace
from math import ceil, floor

import numpy as np

from ..array_types import Floats
from ..counted import count
from ..digits import in_digits
from ..target import Target
from ..vatting.pour import pour
from .blocks import Block, HouseRow, Problem
from .chances import Vatting, reckon, vatting_of
from .fewer import Had, best_made, fewer_of, is_made, made_as
from .filled_soon import fill_soon
from .loosened import let_go, loosened
from .must_be_in import contested, not_for
from .result import SURE_ENOUGH, Mend, MendKind, WhyFewer
from .until import Until
from .verdict import filled_now_words, mend_sentence, widen_sentence

_STEP = 0.5
_WIDEST = 4.0
_LITRE_HAIR = 1e-6
_FEW_DRAWS, _BEYOND_DOUBT = 400, 0.15
"""Six standard errors of a chance of a half, by so many draws."""


def mends_for(
    problem: Problem, fractions: list[Floats], at: int, vatting: Vatting | None, until: Until
) -> Iterator[Mend]:
    """Changes with which a release that fails would not, the smallest of each kind.

    Parameters
    ----------
    problem, fractions
        The plan.
    at, vatting
        Which release, and what it gets.
    until
        The limit by the clock.

    Raises
    ------
    TimeIsOver
        Before every kind was tried.
    """
    every = contested(problem, range(len(problem.blocks)))
    if every is not None and at in every[0]:
        # whatever else changes, the cask that must be in each is spent once
        yield from let_go(problem, fractions, at, every[1], until)
        return
    if not_for(problem.blocks[at]):
        return  # nor may one go in then that others have, or that is unfit
    yield from _less_held(problem, fractions, at, until)
    yield from fill_soon(problem, fractions, at, until)
    yield from _widen(problem, fractions, at, vatting)
    yield from _fewer(problem, fractions, at, vatting, until)
    yield from _move(problem, fractions, at, until)
    yield from loosened(problem, fractions, at, until)


def _less_held(problem: Problem, fractions: list[Floats], at: int, until: Until) -> Iterator[Mend]:
    """The limit of the house that alone keeps a release from its quantity, and how far it must go.

    All releases that lack casks and count against it are tried together: what one of them needs is
    not enough for two.
    """
    if problem.blocks[at].missing(fractions[at]) <= 0.0:
        return
    for which, row in enumerate(problem.house):
        if not np.isfinite(row.limit) or row.litres[at] is None:
            continue
        house = [*problem.house]
        house[which] = replace(row, limit=np.inf)
        found = _filled(replace(problem, house=tuple(house)), fractions, at, row, until)
        if found is None or row.taken(found) <= row.limit:
            continue
        yield _house_mend(problem, at, row, row.taken(found))


def _filled(
    there: Problem, fractions: list[Floats], at: int, row: HouseRow, until: Until
) -> list[Floats] | None:
    """Draws with which a release is made, and what else of a row lacks casks where it can be."""
    lacking = [
        other
        for other, (block, given) in enumerate(zip(there.blocks, fractions, strict=True))
        if row.litres[other] is not None and block.missing(given) > 0.0
    ]
    found = [*fractions]
    for other in lacking:
        found[other] = np.zeros_like(fractions[other])
    for other in sorted(lacking, key=lambda one: one != at):
        part = best_made(there, found, other, until)
        if part is not None:
            found[other] = part
    mine = there.blocks[at]
    return found if is_made(mine, found[at]) and _is_sure(mine, found[at]) else None


def _house_mend(problem: Problem, at: int, row: HouseRow, taken: float) -> Mend:
    """A limit as the house writes it: most litres a year, or litres that must be left."""
    name, house = problem.blocks[at].release.name, problem.question.house
    if row.year is not None:
        most = ceil(taken + house.drawn_already.get(row.year, 0.0) - _LITRE_HAIR)
        said = mend_sentence(MendKind.DRAW, name, f"up to {in_digits(most, ',')} L")
        return Mend(MendKind.DRAW, said, litres=most)
    stays = [each for each in problem.house if each.year is None]
    stay = house.stay[stays.index(row)]
    left = max(0, floor(stay.litres - (taken - row.limit) + _LITRE_HAIR))
    words = replace(stay, litres=float(left)).words
    return Mend(MendKind.LEAVE, mend_sentence(MendKind.LEAVE, name, words), litres=left)


def _widen(
    problem: Problem, fractions: list[Floats], at: int, vatting: Vatting | None
) -> Iterator[Mend]:
    """The tolerance of the worst line that makes the release sure enough as it is."""
    block = problem.blocks[at]
    if vatting is None or block.litres_only or block.missing(fractions[at]) > 0.0:
        return
    expected = reckon([vatting]).each[0]
    if expected.probability >= SURE_ENOUGH:
        return
    lines = list(block.task.target.lines)
    which = [line.descriptor for line in lines].index(expected.worst_descriptor)
    tolerance = lines[which].tolerance

    def widened(steps: int) -> Vatting:
        wide = [*lines]
        wide[which] = replace(lines[which], tolerance=tolerance + steps * _STEP)
        target = Target(block.task.target.name, tuple(wide))
        return replace(vatting, task=replace(vatting.task, target=target))

    def sure(steps: int) -> bool:
        return _sure(widened(steps))

    most = int(np.ceil((_WIDEST - 1.0) * tolerance / _STEP))
    if not sure(most):
        return
    steps = bisect_left(range(1, most + 1), True, key=sure) + 1  # wider is never less sure
    points, note = tolerance + steps * _STEP, lines[which].descriptor
    said = f"a tolerance of {in_digits(points, 'g')} on {note}"
    chance = reckon([widened(steps)]).each[0].probability
    words = widen_sentence(block.release.name, said, chance)
    yield Mend(MendKind.WIDEN, words, descriptor=note, points=points, probability=chance)


def _fewer(
    problem: Problem, fractions: list[Floats], at: int, vatting: Vatting | None, until: Until
) -> Iterator[Mend]:
    """How many bottles there are casks for, where only quantity is missing."""
    block = problem.blocks[at]
    missing = block.missing(fractions[at])
    bottles = block.release.limits.bottles
    if vatting is None or missing <= 0.0 or bottles is None:
        return
    filled = vatting_bottles(vatting)
    most = min(int(np.floor((1.0 - missing) * bottles)), filled)
    fewer = fewer_of(problem, fractions, at, most, _is_sure, until)
    kept = block.release.kept_bottles
    if fewer is None or fewer.amount <= kept:
        return
    known = None if block.litres_only else reckon([vatting]).each[0].probability
    why = None if fewer.amount == filled else _why(fewer, known)
    beside = "" if why is None else filled_now_words(why, filled - kept, known)
    said = f"{count(fewer.amount - kept, 'bottle')}{beside}"
    said = mend_sentence(MendKind.FEWER, block.release.name, said)
    yield Mend(MendKind.FEWER, said, bottles=fewer.amount - kept, why=why)


def _why(fewer: Had, probability: float | None) -> WhyFewer:
    """Why what can be had is not what the casks of a release fill now, so sure by their notes."""
    if fewer.own:
        return WhyFewer.COUNTED
    unsure = probability is not None and probability < SURE_ENOUGH
    return WhyFewer.UNSURE if unsure else WhyFewer.TRIED


def vatting_bottles(vatting: Vatting) -> int:
    """How many bottles a vatting surely fills."""
    task = vatting.task
    return pour(task.stock, task.limits, vatting.rows, vatting.litres).bottles_low


def _is_sure(block: Block, found: Floats) -> bool:
    """Whether what a release gets is within its tolerances often enough."""
    if block.litres_only:
        return True
    return _sure(vatting_of(block, found))


def _sure(vatting: Vatting) -> bool:
    """Whether a vatting is sure enough: by few draws where they leave no doubt, else by all."""
    few = reckon([vatting], draws=_FEW_DRAWS).each[0].probability
    if few < SURE_ENOUGH - _BEYOND_DOUBT:
        return False
    return reckon([vatting]).each[0].probability >= SURE_ENOUGH


def _move(problem: Problem, fractions: list[Floats], at: int, until: Until) -> Iterator[Mend]:
    """The nearest other day on which it can be made of what the others leave."""
    block, question = problem.blocks[at], problem.question
    days = [day for day in question.stocks if day != block.release.on and day >= question.as_of]
    for day in sorted(days, key=lambda one: abs((one - block.release.on).days)):
        if (day in question.litres_only) != block.litres_only:
            continue
        moved = made_as(problem, fractions, at, replace(block.release, on=day), until)
        if moved is None or not _is_sure(*moved):
            continue
        said = mend_sentence(MendKind.MOVE, block.release.name, f"on {day}")
        yield Mend(MendKind.MOVE, said, on=day)
        return

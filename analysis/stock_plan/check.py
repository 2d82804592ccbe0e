"""Refuses a plan that cannot be tried, with every reason at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isfinite

import numpy as np

from ..digits import in_digits
from ..errors import FrameError
from ..vatting.check import check as check_vatting
from ..vatting.check import record_faults
from ..vatting.faults import FaultKind, LimitFault, LimitsError
from .blocks import litres_that_count, without_notes
from .must_be_in import kept_out
from .question import PlannedRelease, PlanQuestion

_TRIED_ALL_THE_SAME = frozenset({FaultKind.QUANTITY})
"""A release that its casks cannot fill is planned with the others, and said to fail."""


def check(question: PlanQuestion) -> None:
    """Check everything that was asked.

    Raises
    ------
    FrameError
        The stocks of the days are not of the same casks and notes.
    LimitsError
        With every other fault.
    """
    if not question.stocks:
        raise FrameError("casks", ["There is no stock of any day. Give one for each release."])
    _same_casks(question)
    faults = [*_own_faults(question), *_house_faults(question)]
    for release in question.by_date:
        if release.on in question.stocks:
            faults += _release_faults(question, release)
    if faults:
        raise LimitsError(faults)


def _same_casks(question: PlanQuestion) -> None:
    names, notes = question.casks, question.stocks[question.last_day].descriptors
    wrong = []
    for day, stock in question.stocks.items():
        if not np.array_equal(stock.names, names):
            wrong.append(f"The stock of {day} has other casks, or in another order.")
        elif day not in question.litres_only and stock.descriptors != notes:
            if question.last_day in question.litres_only:
                continue
            wrong.append(f"The stock of {day} has other notes.")
    if wrong:
        raise FrameError("casks", wrong)


def _own_faults(question: PlanQuestion) -> Iterator[LimitFault]:
    names = [release.name for release in question.releases]
    if not names:
        yield LimitFault(FaultKind.NUMBER, "The plan has no release: give at least one.")
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            yield LimitFault(
                FaultKind.CONTRADICTION,
                f"Release {name} stands in the plan {names.count(name)} times. Keep one, or name "
                "them by year.",
            )
    for release in question.releases:
        if release.on < question.as_of:
            yield LimitFault(
                FaultKind.NUMBER,
                f"Release {release.name} is planned for {release.on}, before today, "
                f"{question.as_of}. Give a later year.",
            )
        elif release.on not in question.stocks:
            yield LimitFault(
                FaultKind.NUMBER, f"Release {release.name}: there is no stock of {release.on}."
            )
        if not (isfinite(release.weight) and release.weight > 0.0):
            yield LimitFault(
                FaultKind.NUMBER,
                f"Release {release.name} has the weight {in_digits(release.weight, 'g')}: "
                "give more than 0.",
            )
    if not (isfinite(question.kappa) and question.kappa >= 0.0):
        yield LimitFault(
            FaultKind.NUMBER,
            f"Bands are drawn in by {in_digits(question.kappa, 'g')}: give 0 or more.",
        )


def _house_faults(question: PlanQuestion) -> Iterator[LimitFault]:
    most = question.house.most_litres_a_year
    if most is not None and not (isfinite(most) and most >= 0.0):
        yield LimitFault(
            FaultKind.NUMBER, f"Most litres a year are {in_digits(most, 'g')}: give 0 or more."
        )
    for stay in question.house.stay:
        if not (isfinite(stay.litres) and stay.litres >= 0.0 and stay.age_low < stay.age_high):
            yield LimitFault(
                FaultKind.NUMBER,
                f"What must stay, {stay.words}: give 0 litres or more, and the lower age first.",
            )
            continue
        last = question.stocks[question.last_day]
        if strange := list(record_faults(last, stay.column, stay.values)):
            yield from strange
            continue
        there = float(litres_that_count(question, stay).sum())
        if there < stay.litres:
            yield LimitFault(
                FaultKind.QUANTITY,
                f"{stay.words} must stay until {question.last_day}, and "
                f"{in_digits(there, ',.0f')} L will be "
                "there if nothing is drawn. Ask for less, or fill more.",
            )


def _release_faults(question: PlanQuestion, release: PlannedRelease) -> Iterator[LimitFault]:
    """Give its faults; that it asks for a cask which it cannot have is told of it in the plan."""
    stock, limits = question.stocks[release.on], release.limits
    notes = tuple(line.descriptor for line in release.target.lines)
    if release.on in question.litres_only:
        stock = without_notes(stock, notes)
    known = tuple(each for each in notes if each in stock.descriptors)
    out = {each.cask for each in kept_out(stock, known, limits)}
    wanted = tuple(each for each in limits.must_include if each not in out)
    try:
        check_vatting(stock, release.target, replace(limits, must_include=wanted))
    except LimitsError as error:
        for fault in error.faults:
            empty = fault.kind is FaultKind.AGE and fault.text.startswith("No cask may go in")
            if fault.kind not in _TRIED_ALL_THE_SAME and not empty:
                yield LimitFault(fault.kind, f"Release {release.name}: {fault.text}")

"""May this filling be used, and why not: one rule for every list, question and act.

What the records hold against a filling is a tuple of :class:`Barred`, one for each reason, all of
them at once (:func:`bars_of`). Which of them forbid a use depends on the use and on what was
agreed by name (:func:`forbidding`). Only :mod:`analysis.bar_words` turns a bar into words.

Standard library only: a list of casks must not wait for numbers to load.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Purpose(StrEnum):
    """What a filling is wanted for."""

    NOSE = "nose"
    MATCH = "match"
    LIKE = "like"
    VAT = "vat"
    BOTTLE = "bottle"


class Bar(StrEnum):
    """Why a filling may not be used, by its records alone; the order is that of a cask's page."""

    GONE = "emptied"
    EMPTY = "nothing in it"
    UNGAUGED = "litres or strength not recorded"
    TWO_FILLINGS = "one of two fillings in its cask"
    LEAKING = "leaking"
    TOPPED = "nosed before its topping"
    HOLD = "on hold"
    FAULT = "marked for a fault"
    OWNER = "of another owner"
    GAUGE = "gauged too long ago"
    STRENGTH = "below the legal strength"
    WEAKENS = "below the legal strength by then"
    RESERVED = "reserved elsewhere"
    PARTLY_RESERVED = "partly reserved, so not to be had whole"


class Status(StrEnum):
    """The one word that matters most for somebody who wants to use a filling."""

    EMPTIED = "emptied"
    LEAKING = "leaking"
    ON_HOLD = "on hold"
    RESERVED = "reserved"
    NOT_OURS = "not ours"
    FILLED = "filled"


@dataclass(frozen=True)
class Marks:
    """Marks of fault that put a filling on hold: what was marked, by how many, and where."""

    faults: tuple[str, ...]
    n_assessors: int
    session: str


@dataclass(frozen=True)
class FillingFacts:
    """What the records say of one filling as of a day; None where they say nothing.

    Attributes
    ----------
    gone, gone_on
        Whether it was emptied or given away, and when.
    others
        Fillings that lie in the same cask by the records: one of them is wrong.
    reserved_litres, reserved_whole, reserved_for
        Litres promised, whether the whole cask is, and to which releases.
    marks
        Marks of fault that two assessors or more agreed on.
    weak_from, used_on
        When its strength falls under the legal one by its own loss, and the day it is wanted for.
    topped_on, nosed_before_topping
        When spirit was last added, and whether all that was nosed had been drawn by then.
    """

    bulk_litres: float | None
    abv_percent: float | None
    gone: bool = False
    gone_on: date | None = None
    others: tuple[str, ...] = ()
    leaking: bool = False
    leaking_since: date | None = None
    on_hold: bool = False
    hold_reason: str | None = None
    marks: tuple[Marks, ...] = ()
    topped_on: date | None = None
    nosed_before_topping: bool = False
    owner: str | None = None
    gauge_age_years: float | None = None
    never_gauged: bool = False
    reserved_litres: float = 0.0
    reserved_whole: bool = False
    reserved_for: tuple[str, ...] = ()
    weak_from: date | None = None
    used_on: date | None = None

    @property
    def free_litres(self) -> float:
        """Litres that nobody else was promised."""
        if self.reserved_whole or self.bulk_litres is None:
            return 0.0
        return max(0.0, self.bulk_litres - self.reserved_litres)


@dataclass(frozen=True)
class BarRules:
    """What the law and the house ask of any filling; None asks nothing."""

    legal_abv_percent: float | None = None
    gauge_most_years: float | None = None


@dataclass(frozen=True)
class Barred:
    """One reason why a filling may not be used, with the facts and the rules behind it."""

    bar: Bar
    facts: FillingFacts
    rules: BarRules = BarRules()


Bars = tuple[Barred, ...]


@dataclass(frozen=True)
class Allowed:
    """What was agreed to by name: bars that are lifted, and owners whose casks may be used."""

    bars: frozenset[Bar] = frozenset()
    owners: frozenset[str] = frozenset()

    def lifts(self, barred: Barred) -> bool:
        """Whether a bar no longer counts."""
        owned = barred.bar is Bar.OWNER and barred.facts.owner in self.owners
        return owned or barred.bar in self.bars


BY_NAME = frozenset({Bar.LEAKING, Bar.TOPPED, Bar.HOLD, Bar.FAULT, Bar.OWNER, Bar.WEAKENS})
"""What is lifted by asking for a cask by name; litres that are not there cannot be asked for."""
OF_LITRES = frozenset({Bar.EMPTY, Bar.RESERVED, Bar.PARTLY_RESERVED})
"""Bars that depend on how many litres are wanted: told with the figures."""
HELD = BY_NAME - {Bar.TOPPED, Bar.WEAKENS}
"""What is lifted for all casks at once: leave brings back no profile and no strength."""
NOTHING_AGREED = Allowed()
ASKED = Allowed(bars=BY_NAME)

FORBIDS: Mapping[Purpose, tuple[Bar, ...]] = {
    Purpose.NOSE: (Bar.GONE, Bar.EMPTY, Bar.TWO_FILLINGS),
    Purpose.MATCH: (
        *(Bar.GONE, Bar.EMPTY, Bar.TWO_FILLINGS, Bar.OWNER, Bar.HOLD, Bar.FAULT, Bar.LEAKING),
        *(Bar.TOPPED, Bar.WEAKENS, Bar.RESERVED),
    ),
    Purpose.LIKE: (Bar.TWO_FILLINGS, Bar.LEAKING, Bar.TOPPED),
    Purpose.VAT: (
        *(Bar.GONE, Bar.EMPTY, Bar.UNGAUGED, Bar.TWO_FILLINGS, Bar.HOLD, Bar.FAULT, Bar.LEAKING),
        *(Bar.TOPPED, Bar.OWNER, Bar.WEAKENS, Bar.RESERVED, Bar.PARTLY_RESERVED),
    ),
    Purpose.BOTTLE: tuple(Bar),
}
"""What forbids a use, in the order it is told.

A sample may be nosed of whatever is there: a cask on hold is nosed again. A target may be made
like a cask that is sold or empty, but not like one that leaks or was topped: what was nosed is not
what is in it now. A part of a vat may be weak; bottled by itself it must have the legal strength.
One that is whisky today and will not be on the day it is wanted is kept for an earlier day, unless
somebody asks for it.
"""


def bars_of(facts: FillingFacts, rules: BarRules | None = None) -> Bars:
    """Everything that the records hold against using a filling, whatever for.

    Of what is gone nothing else matters.

    Examples
    --------
    >>> leaky = FillingFacts(180.0, 58.0, leaking=True, owner="Mill Trust")
    >>> [barred.bar.value for barred in bars_of(leaky)]
    ['leaking', 'of another owner']
    >>> [barred.bar.value for barred in forbidding(bars_of(leaky), Purpose.VAT, ASKED)]
    []
    """
    bound = rules or BarRules()
    if facts.gone:
        return (Barred(Bar.GONE, facts, bound),)
    return tuple(Barred(bar, facts, bound) for bar, holds in _HOLDS.items() if holds(facts, bound))


def forbidding(bars: Bars, purpose: Purpose, allowed: Allowed = NOTHING_AGREED) -> Bars:
    """Those of the bars that forbid a use and were not agreed to, in the order they are told."""
    if not bars:
        return ()
    order = FORBIDS[purpose]
    against = [each for each in bars if each.bar in order and not allowed.lifts(each)]
    return tuple(sorted(against, key=lambda each: order.index(each.bar)))


def gauge_is_old(gauge_age_years: float | None, most_years: float | None) -> bool:
    """Whether figures for litres and strength are older than they may be."""
    if gauge_age_years is None or most_years is None:
        return False
    return gauge_age_years > most_years


def measured(bars: Bars) -> Bars:
    """The bars that stay once litres and strength are measured as the cask is poured."""
    figures = {Bar.EMPTY, Bar.UNGAUGED, Bar.GAUGE, Bar.STRENGTH, Bar.WEAKENS}
    return tuple(each for each in bars if each.bar not in figures)


def status_of(bars: Bars) -> Status:
    """The one word that matters most."""
    found = {each.bar for each in bars}
    return next((word for bar, word in _STATUS.items() if bar in found), Status.FILLED)


def _ungauged(facts: FillingFacts) -> bool:
    return facts.bulk_litres is None or facts.abv_percent is None or facts.abv_percent <= 0.0


def _weak(facts: FillingFacts, rules: BarRules) -> bool:
    if rules.legal_abv_percent is None or _ungauged(facts) or facts.abv_percent is None:
        return False
    return facts.abv_percent < rules.legal_abv_percent


def _weakens(facts: FillingFacts) -> bool:
    if facts.weak_from is None or facts.used_on is None:
        return False
    return facts.weak_from <= facts.used_on


def _promised(facts: FillingFacts) -> bool:
    return facts.reserved_whole or facts.reserved_litres > 0.0


_HOLDS: Mapping[Bar, Callable[[FillingFacts, BarRules], bool]] = {
    Bar.EMPTY: lambda facts, _: facts.bulk_litres is not None and facts.bulk_litres <= 0.0,
    Bar.UNGAUGED: lambda facts, _: _ungauged(facts),
    Bar.TWO_FILLINGS: lambda facts, _: bool(facts.others),
    Bar.LEAKING: lambda facts, _: facts.leaking,
    Bar.TOPPED: lambda facts, _: facts.nosed_before_topping,
    Bar.HOLD: lambda facts, _: facts.on_hold,
    # Marks count until the lead has looked: lifting the hold is the answer to them.
    Bar.FAULT: lambda facts, _: facts.on_hold and bool(facts.marks),
    Bar.OWNER: lambda facts, _: bool(facts.owner),
    Bar.GAUGE: lambda facts, rules: gauge_is_old(facts.gauge_age_years, rules.gauge_most_years),
    Bar.STRENGTH: _weak,
    Bar.WEAKENS: lambda facts, _: _weakens(facts),
    Bar.RESERVED: lambda facts, _: _promised(facts) and facts.free_litres <= 0.0,
    Bar.PARTLY_RESERVED: lambda facts, _: _promised(facts) and facts.free_litres > 0.0,
}
_STATUS: Mapping[Bar, Status] = {
    Bar.GONE: Status.EMPTIED,
    Bar.LEAKING: Status.LEAKING,
    Bar.HOLD: Status.ON_HOLD,
    Bar.RESERVED: Status.RESERVED,
    Bar.PARTLY_RESERVED: Status.RESERVED,
    Bar.OWNER: Status.NOT_OURS,
}

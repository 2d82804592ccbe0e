"""A bar in words: the one place where what stands in the way of a cask becomes a sentence.

Standard library only, as :mod:`analysis.bars`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date

from .bars import Bar, Barred, BarRules, FillingFacts
from .digits import in_digits


def said(barred: Barred) -> str:
    """The bar with its facts, to follow a cask's name and a colon."""
    return _SAID[barred.bar](barred.facts, barred.rules)


def told(bars: Iterable[Barred]) -> str:
    """Every bar with its facts and what follows from it, as one reason."""
    return "; ".join(flagged(barred) for barred in bars)


def flagged(barred: Barred) -> str:
    """The bar with its facts and what follows from it, for a cask's page."""
    return f"{said(barred)}{_WHAT_FOLLOWS.get(barred.bar, '')}"


def sentence(cask: str, barred: Barred) -> str:
    """The bar as a sentence about a cask."""
    predicate = _PREDICATE.get(barred.bar)
    if predicate is None:
        return f"Cask {cask} is {said(barred)}."
    return f"Cask {cask} {predicate(barred.facts, barred.rules)}."


def reserved_words(facts: FillingFacts) -> str:
    """For whom litres are reserved."""
    return f" for release {', '.join(facts.reserved_for)}" if facts.reserved_for else ""


def _dated(words: str, link: str, on: date | None) -> str:
    return f"{words} {link} {on}" if on is not None else words


def _said_marks(facts: FillingFacts) -> str:
    return "; ".join(
        f"{', '.join(each.faults)} marked by {each.n_assessors} assessors in session {each.session}"
        for each in facts.marks
    )


def _said_reserved(facts: FillingFacts) -> str:
    if facts.reserved_whole:
        return "reserved as a whole"
    return f"reserved{reserved_words(facts)}" if facts.reserved_for else "reserved, all of it"


Words = Callable[[FillingFacts, BarRules], str]


def _gauge_age(facts: FillingFacts) -> str:
    return in_digits(facts.gauge_age_years or 0.0, ".1f")


_SAID: Mapping[Bar, Words] = {
    Bar.GONE: lambda facts, _: _dated("emptied", "on", facts.gone_on),
    Bar.EMPTY: lambda _, __: "nothing in it",
    Bar.UNGAUGED: lambda _, __: "litres or strength not recorded",
    Bar.TWO_FILLINGS: lambda facts, _: (
        f"by the records {' and '.join(facts.others)} lies in the same cask"
    ),
    Bar.LEAKING: lambda facts, _: _dated("leaking", "since", facts.leaking_since),
    Bar.TOPPED: lambda facts, _: _dated("nosed before its topping", "of", facts.topped_on),
    Bar.HOLD: lambda facts, _: f"on hold: {facts.hold_reason}" if facts.hold_reason else "on hold",
    Bar.FAULT: lambda facts, _: _said_marks(facts),
    Bar.OWNER: lambda facts, _: f"belongs to {facts.owner}",
    Bar.GAUGE: lambda facts, _: (
        f"{'never gauged, ' if facts.never_gauged else ''}litres and strength are "
        f"{_gauge_age(facts)} years old"
    ),
    Bar.STRENGTH: lambda facts, rules: (
        f"{in_digits(facts.abv_percent or 0.0, 'g')} % vol at the last gauge, below the legal "
        f"{in_digits(rules.legal_abv_percent or 0.0, 'g')} %"
    ),
    Bar.WEAKENS: lambda facts, rules: (
        f"{in_digits(facts.abv_percent or 0.0, 'g')} % vol at the last gauge, and by its "
        "loss below the legal "
        f"{in_digits(rules.legal_abv_percent or 0.0, 'g')} % from about {facts.weak_from}"
    ),
    Bar.RESERVED: lambda facts, _: _said_reserved(facts),
    Bar.PARTLY_RESERVED: lambda facts, _: (
        f"{in_digits(facts.reserved_litres, 'g')} L reserved{reserved_words(facts)}"
    ),
}
_WHAT_FOLLOWS: Mapping[Bar, str] = {
    Bar.TWO_FILLINGS: ": record which was emptied, and when",
    Bar.LEAKING: ", no repair recorded",
    Bar.TOPPED: ": draw it again",
    Bar.OWNER: ": not to be used unasked",
    Bar.GAUGE: ": regauge before you rely on them",
    Bar.STRENGTH: ": it is not whisky by itself",
    Bar.WEAKENS: ": use it before that day, or gauge it again",
}
_PREDICATE: Mapping[Bar, Words] = {
    Bar.EMPTY: lambda _, __: "holds nothing",
    Bar.UNGAUGED: lambda _, __: "has no litres or strength on record",
    Bar.TWO_FILLINGS: lambda facts, _: (
        f"holds two fillings by the records ({' and '.join(facts.others)} beside this one)"
    ),
    Bar.LEAKING: lambda facts, _: (
        f"has leaked since {facts.leaking_since}" if facts.leaking_since else "is leaking"
    ),
    Bar.TOPPED: lambda facts, rules: f"was {_SAID[Bar.TOPPED](facts, rules)}: draw it again",
    Bar.FAULT: lambda facts, _: f"has {_said_marks(facts)}",
    Bar.OWNER: lambda facts, _: f"belongs to {facts.owner}",
    Bar.GAUGE: lambda facts, _: (
        f"was never gauged since its filling {_gauge_age(facts)} years ago"
        if facts.never_gauged
        else f"was gauged {_gauge_age(facts)} years ago"
    ),
    Bar.STRENGTH: lambda facts, rules: f"has {_SAID[Bar.STRENGTH](facts, rules)}",
    Bar.WEAKENS: lambda facts, rules: f"has {_SAID[Bar.WEAKENS](facts, rules)}",
    Bar.PARTLY_RESERVED: lambda facts, _: (
        f"has {in_digits(facts.reserved_litres, 'g')} L reserved{reserved_words(facts)}"
    ),
}

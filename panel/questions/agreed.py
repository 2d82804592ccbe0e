"""What was agreed to by naming a cask: whether a bar of today is the one that was agreed to then.

Who names a cask, or its owner, agrees to what bars it on that day and to nothing that came later.
Plans and releases keep it alike, and every room that asks reads it here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from typing import Any

from analysis.as_json import AsJson
from analysis.bars import (
    BY_NAME,
    OF_LITRES,
    Allowed,
    Bar,
    Barred,
    Bars,
    FillingFacts,
    Purpose,
    forbidding,
)

AGREED, AGREED_THEN = "agreed", "agreed_then"
"""What is told of it, and what it is compared by; a plan keeps the latter alone."""


@dataclass(frozen=True)
class AgreedThen(AsJson):
    """A bar of a cask that was agreed to by name, and how it stood on that day.

    It holds no digest of words: who tries codes on one finds who was erased. Words stand as they
    are, so that an erasure changes them here as in the record of the cask.

    Attributes
    ----------
    facts
        What tells a bar from a later one of its kind, but for a hold; empty where nothing does.
        None where that is not known: then any bar of the kind is meant.
    hold_reason
        What somebody wrote of a hold; None for every other bar.
    digest
        What `facts` and `hold_reason` came to, in what an older version kept; never written.
    """

    cask: str
    bar: Bar
    facts: tuple[str, ...] | None
    hold_reason: str | None = None
    digest: str | None = None

    json_keys = ("cask", "bar", "facts", "hold_reason")

    def is_of(self, cask: str, barred: Barred) -> bool:
        """Say whether this is what a bar of today comes to."""
        if (self.cask, self.bar) != (cask, barred.bar):
            return False
        if self.digest is not None:
            return self.digest == _digest_of(barred)
        return self.facts is None or self == as_agreed(cask, barred)


def lifted_by_name(bars: Bars, allowed: Allowed) -> Iterator[Barred]:
    """Give each bar of a vatting that is lifted because the cask or its owner was named."""
    for barred in forbidding(bars, Purpose.VAT):
        if barred.bar in BY_NAME and allowed.lifts(barred):
            yield barred


def as_agreed(cask: str, barred: Barred) -> AgreedThen:
    """Return what is kept of a bar that is agreed to today."""
    told = _FACTS.get(barred.bar)
    facts = () if told is None else tuple(told(barred.facts))
    reason = barred.facts.hold_reason if barred.bar is Bar.HOLD else None
    return AgreedThen(cask, barred.bar, facts, reason)


def agreed_then(kept: Mapping[str, Any]) -> tuple[AgreedThen, ...]:
    """Return what was agreed to by name, by what is kept of a plan or of a release's proposal."""
    return tuple(_read(one) for one in kept.get(AGREED_THEN, kept.get(AGREED, ())))


def was_agreed(cask: str, barred: Barred, agreed: Collection[AgreedThen]) -> bool:
    """Say whether a bar of today is one that was agreed to by name."""
    return any(one.is_of(cask, barred) for one in agreed)


def not_agreed(cask: str, bars: Bars, agreed: Collection[AgreedThen]) -> Iterator[Barred]:
    """Give what forbids a cask in a vat and was not agreed to then, other than its litres."""
    for barred in forbidding(bars, Purpose.VAT):
        if barred.bar not in OF_LITRES and not was_agreed(cask, barred, agreed):
            yield barred


def _read(one: Mapping[str, Any]) -> AgreedThen:
    facts = one.get("facts")
    return AgreedThen(
        cask=one["cask"],
        bar=Bar(one["bar"]),
        facts=None if facts is None else tuple(facts),
        hold_reason=one.get("hold_reason"),
        digest=one.get("stood"),
    )


def _owner(facts: FillingFacts) -> Iterator[str]:
    if facts.owner:
        yield facts.owner


def _marks(facts: FillingFacts) -> Iterator[str]:
    for each in facts.marks:
        yield from (each.session, *each.faults)


_FACTS: Mapping[Bar, Callable[[FillingFacts], Iterator[str]]] = {
    Bar.LEAKING: lambda facts: _day(facts.leaking_since),
    Bar.TOPPED: lambda facts: _day(facts.topped_on),
    Bar.OWNER: _owner,
    Bar.FAULT: _marks,
}


def _day(on: date | None) -> Iterator[str]:
    if on is not None:
        yield on.isoformat()


def _digest_of(barred: Barred) -> str:
    """Return what an older version would have kept of a bar."""
    facts = barred.facts
    words = {
        Bar.HOLD: facts.hold_reason or "",
        Bar.OWNER: facts.owner or "",
        Bar.FAULT: repr([(each.session, each.faults) for each in facts.marks]),
    }.get(barred.bar)
    if words is None:
        return "".join(as_agreed("", barred).facts or ())
    return sha256(words.encode()).hexdigest()[:DIGEST_DIGITS] if words else ""


DIGEST_DIGITS = 16
"""Of the digest of an older version."""

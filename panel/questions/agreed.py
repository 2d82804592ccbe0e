"""What was agreed to by naming a cask: whether a bar of today is the one that was agreed to then.

Who names a cask, or its owner, agrees to what bars it on that day and to nothing that came later.
Plans and releases keep it alike, and every room that asks reads it here.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
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

DIGEST_DIGITS = 16
AGREED, AGREED_THEN = "agreed", "agreed_then"
"""What is told of it, and what it is compared by; a plan keeps only the latter, as `agreed`."""


@dataclass(frozen=True)
class AgreedThen(AsJson):
    """A bar of a cask that was agreed to by name, and how it stood on that day.

    `stood` is None where a release was proposed before that was kept: any bar of the kind is meant.
    """

    cask: str
    bar: Bar
    stood: str | None


def lifted_by_name(bars: Bars, allowed: Allowed) -> Iterator[Barred]:
    """Give each bar of a vatting that is lifted because the cask or its owner was named."""
    for barred in forbidding(bars, Purpose.VAT):
        if barred.bar in BY_NAME and allowed.lifts(barred):
            yield barred


def as_agreed(cask: str, barred: Barred) -> AgreedThen:
    """Return what is kept of a bar that is agreed to today."""
    return AgreedThen(cask, barred.bar, bar_stands(barred))


def bar_stands(barred: Barred) -> str:
    """Return what tells a bar of a cask from a later one of its kind; empty where nothing does.

    Of words a digest: what people wrote stands in the records of casks alone.
    """
    stands = _STANDS.get(barred.bar)
    return "" if stands is None else stands(barred.facts)


def agreed_then(kept: Mapping[str, Any]) -> frozenset[AgreedThen]:
    """Return what was agreed to by name, by what is kept of a plan or of a release's proposal."""
    told = kept.get(AGREED_THEN, kept.get(AGREED, ()))
    return frozenset(AgreedThen(one["cask"], Bar(one["bar"]), one.get("stood")) for one in told)


def was_agreed(cask: str, barred: Barred, agreed: Collection[AgreedThen]) -> bool:
    """Say whether a bar of today is one that was agreed to by name."""
    return as_agreed(cask, barred) in agreed or AgreedThen(cask, barred.bar, None) in agreed


def not_agreed(cask: str, bars: Bars, agreed: Collection[AgreedThen]) -> Iterator[Barred]:
    """Give what forbids a cask in a vat and was not agreed to then, other than its litres."""
    for barred in forbidding(bars, Purpose.VAT):
        if barred.bar not in OF_LITRES and not was_agreed(cask, barred, agreed):
            yield barred


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:DIGEST_DIGITS]


def _marks(facts: FillingFacts) -> str:
    return _digest(repr([(each.session, each.faults) for each in facts.marks]))


_STANDS: Mapping[Bar, Callable[[FillingFacts], str]] = {
    Bar.HOLD: lambda facts: _digest(facts.hold_reason) if facts.hold_reason else "",
    Bar.LEAKING: lambda facts: facts.leaking_since.isoformat() if facts.leaking_since else "",
    Bar.TOPPED: lambda facts: facts.topped_on.isoformat() if facts.topped_on else "",
    Bar.OWNER: lambda facts: _digest(facts.owner) if facts.owner else "",
    Bar.FAULT: _marks,
}

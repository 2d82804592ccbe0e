"""What is wrong with what was asked, every fault at once."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum

from ..errors import InputError, score_first


class FaultKind(StrEnum):
    """What sort of fault it is."""

    NUMBER = "a number out of range"
    CONTRADICTION = "two wishes that exclude each other"
    SHARES = "shares that do not add up"
    STRENGTH = "a bottling strength that is not reached"
    QUANTITY = "more than there is in stock"
    AGE = "too young for the age statement"
    GAUGE = "a regauge too old to rely on"
    DESCRIPTORS = "descriptors without estimates"
    APART = "nosed apart from the others"
    HOLD = "on hold or leaking"
    OWNER = "of another owner"
    RESERVED = "reserved elsewhere"
    UNKNOWN_CASK = "no such cask"
    UNKNOWN_VALUE = "no such record"
    UNUSABLE_CASK = "a cask that cannot be used"


@dataclass(frozen=True)
class LimitFault:
    """One fault: its kind, and a sentence that says what, where and what to do."""

    kind: FaultKind
    text: str


class LimitsError(InputError):
    """What was asked cannot be tried; ``faults`` holds every reason."""

    def __init__(self, faults: Sequence[LimitFault]) -> None:
        self.faults = tuple(faults)
        super().__init__(" ".join(fault.text for fault in self.faults))

    @property
    def kinds(self) -> frozenset[FaultKind]:
        """The sorts of fault among them."""
        return frozenset(fault.kind for fault in self.faults)


def nearest(name: str, known: Iterable[str]) -> str:
    """Say which known names come nearest, as a sentence of its own or as nothing."""
    found = get_close_matches(name, list(known), n=3, cutoff=0.5)
    return f" The nearest: {', '.join(found)}." if found else ""


def unscored_faults(
    target: str, lines: Iterable[str], known: Collection[str]
) -> Iterator[LimitFault]:
    """Give the fault of a target's lines on which no cask has an estimate, all in one sentence."""
    lacking = [name for name in lines if name not in known]
    if not lacking:
        return
    near = "".join(nearest(name, known) for name in lacking)
    has = "the line" if len(lacking) == 1 else "the lines"
    named = ", ".join(map(repr, lacking))
    yield LimitFault(
        FaultKind.DESCRIPTORS,
        f"Target {target} has {has} {named}, on which no cask has an estimate.{near} "
        f"{score_first(len(lacking), misspelt=bool(near))}",
    )

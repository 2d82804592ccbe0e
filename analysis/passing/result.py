"""What a morning of passing came to, and what many mornings tell of the noses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from ..as_json import AsJson
from ..readable import Readable
from .shares import Share


class PassState(StrEnum):
    """Where a cask stands once noses have been at it."""

    PASSED = "passed"
    AGAIN = "to nose again"
    HELD = "held"
    NOBODY = "nosed by nobody"


class FamilyWord(StrEnum):
    """Whether noses were seen to catch a family of faults."""

    SHOWN = "caught"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True)
class CaskFound:
    """One cask: how many noses had it this time, how many held it, and for what.

    `held_before` counts noses who held it in an earlier session and were not cleared since.
    """

    cask: str
    sample: str
    state: PassState
    noses: int
    held_by: int
    held_before: int
    faults: tuple[str, ...]


@dataclass(frozen=True)
class BlockFound:
    """One block of one nose: casks passed and held, what was planted and what became of it."""

    assessor: str
    block: int
    passed: int
    held: int
    spikes: int
    caught: int
    sound: int
    stopped: int


@dataclass(frozen=True)
class NoseFound:
    """One nose: what it caught of the planted faults, what it stopped of the known-sound.

    `repeated` is how many casks that stood twice on the tray were answered alike both times.
    `left_out` says why the glasses count nowhere, where the nose had seen the key.
    """

    assessor: str
    casks: int
    caught: Share
    stopped: Share
    repeated: Share
    left_out: str | None = None


@dataclass(frozen=True)
class FamilyFound:
    """One family of faults over the last months: spikes of it poured, and caught."""

    family: str
    caught: Share
    word: FamilyWord


@dataclass(frozen=True)
class PassingFound(AsJson, Readable):
    """A passing session: every cask, nose and block, and the sentences that are said of it."""

    session: str
    passed: int
    again: int
    held: int
    nobody: int
    """Casks of the plan of which no glass was finished: neither passed nor held."""
    casks: tuple[CaskFound, ...]
    noses: tuple[NoseFound, ...]
    blocks: tuple[BlockFound, ...]
    sentences: tuple[str, ...] = ()
    """What is said of it: the counts and each nose first."""

    def said(self) -> Iterator[str]:
        """Give the sentences."""
        return iter(self.sentences)

    def rows(self) -> Iterator[object]:
        """Give a row a cask."""
        return iter(self.casks)


@dataclass(frozen=True)
class TrueHolds:
    """What share of one nose's holds is likely true, as an interval; None with its reason."""

    mornings: int
    casks: int
    held: int
    low: float | None
    high: float | None
    reason: str | None = None


@dataclass(frozen=True)
class MorningsFound(AsJson, Readable):
    """Many mornings: what each nose catches and stops, families not shown, holds likely true.

    Attributes
    ----------
    since, until
        The first and the last day that counts; families count from `families_since`.
    """

    since: date | None
    until: date
    families_since: date
    mornings: int
    noses: tuple[NoseFound, ...]
    families: tuple[FamilyFound, ...]
    true_holds: TrueHolds
    sentences: tuple[str, ...] = ()
    """What is said of them."""

    def said(self) -> Iterator[str]:
        """Give the sentences."""
        return iter(self.sentences)

    def rows(self) -> Iterator[object]:
        """Give a row a nose."""
        return iter(self.noses)

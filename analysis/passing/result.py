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


class NowWord(StrEnum):
    """How a cask stands now that was held, or that is on hold though it was passed."""

    HELD = "held"
    AGAIN = "to nose again"
    LIFTED = "lifted"
    OTHERWISE = "on hold for something else"


class FamilyWord(StrEnum):
    """Whether noses were seen to catch a family of faults."""

    SHOWN = "caught"
    NOT_SHOWN = "not shown"


@dataclass(frozen=True)
class StandsNow:
    """How a cask stands now, whatever one session found.

    `reason` is why nobody may empty it, `noses` and `sessions` who held it and where since it was
    last cleared, `passed_in` where others passed it since.
    """

    word: NowWord
    reason: str | None = None
    noses: int = 0
    sessions: tuple[str, ...] = ()
    passed_in: tuple[str, ...] = ()
    lifted_on: date | None = None

    @property
    def stays(self) -> bool:
        """Whether passing keeps it from being emptied."""
        return self.word in {NowWord.HELD, NowWord.AGAIN}


@dataclass(frozen=True)
class CaskFound:
    """One cask: how many noses had it this time, how many held it, and for what.

    `held_before` counts noses who held it in an earlier session and were not cleared since. `now`
    is None where nothing is on record beside what this session found.
    """

    cask: str
    sample: str
    state: PassState
    noses: int
    held_by: int
    held_before: int
    faults: tuple[str, ...]
    now: StandsNow | None = None

    @property
    def stays(self) -> bool:
        """Whether nobody may empty it as it stands."""
        return self.now.stays if self.now else self.held_by > 0

    @property
    def waits(self) -> bool:
        """Whether a second nose has to nose it yet."""
        if self.state is not PassState.AGAIN:
            return False
        return not self.now or (self.now.word is NowWord.AGAIN and not self.now.passed_in)


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
    `named` counts those caught whose own fault was among those named. `left_out` says why the
    glasses count nowhere, where the nose had seen the key.
    """

    assessor: str
    casks: int
    caught: Share
    stopped: Share
    repeated: Share
    named: int = 0
    left_out: str | None = None


@dataclass(frozen=True)
class FamilyFound:
    """One family of faults over the last months: spikes of it poured, caught, and named as it."""

    family: str
    caught: Share
    word: FamilyWord
    named: int = 0


@dataclass(frozen=True)
class SoundFound:
    """One known-sound sample: how often it was poured, and held."""

    sample: str
    stopped: int
    of: int

    @property
    def each_time(self) -> bool:
        """Whether it was held every time, and more than once."""
        return 1 < self.of == self.stopped


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
    sound: tuple[SoundFound, ...] = ()
    """What was poured as known sound, by sample."""
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
    sound: tuple[SoundFound, ...] = ()
    """What was poured as known sound, by sample."""
    sentences: tuple[str, ...] = ()
    """What is said of them."""

    def said(self) -> Iterator[str]:
        """Give the sentences."""
        return iter(self.sentences)

    def rows(self) -> Iterator[object]:
        """Give a row a nose."""
        return iter(self.noses)

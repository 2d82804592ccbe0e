"""What a booth may know: a seat, its lines, its glasses. Plain values, no database.

Nothing here has a place for a draw, a cask or what kind of glass it is; a warm-up glass is the
one thing that is declared.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from panel.kinds import SessionKind

DEED_DIGITS = 32
"""Of the number that a page gives a deed: 128 bits at random, so that no two are ever the same."""
SECONDS_FROM = 100
"""Of a trace, the questions from 1 on are its prompts in their order; this much above stands the
second after the sip at which each was answered, as far as a minute and what comes late after it."""
LATEST_S = 100.0
SPIT_S = 10
"""So long after it a sip is spat, wherever one is followed in the mouth."""


def second_of(prompt: int) -> int:
    """Return the question under which the second of a prompt's answer stands."""
    return SECONDS_FROM + prompt


def stopped_words(code: str) -> str:
    """Return what is said of a glass that is stopped, whoever called it."""
    return (
        f"{code} is stopped: what is in it may not be safe. Do not nose or taste it, set it aside "
        "for the lead and take another glass."
    )


@dataclass(frozen=True)
class Seat:
    """One booth that may save for one assessor, as long as its token is the newest."""

    session_id: int
    person_id: int
    code: str
    token: str


@dataclass(frozen=True)
class Line:
    """A descriptor as it stands on the score sheet, or a word of the assessor's own.

    `version_id` is the number that scores are saved under: the descriptor version's or the word's.
    """

    version_id: int
    name: str
    stage: str
    meaning: str
    low_words: str
    high_words: str
    low: int = 0
    high: int = 100
    note: str = ""
    """Of a prompt, whose name is its second: the descriptor that is asked about."""


@dataclass(frozen=True)
class KeptScore:
    """A score that is on disk, and since when."""

    value: float
    given_at: datetime


@dataclass(frozen=True)
class Glass:
    """A glass of the tray: its code, where it stands, and what was given to it."""

    serving_id: int
    code: str
    flight: int
    position: int
    pouring: int
    warm_up: bool
    withdrawn: bool
    poured_again: bool
    taken_order: int | None
    taken_at: datetime | None
    finished_at: datetime | None
    scores: Mapping[int, KeptScore]
    faults: frozenset[str]
    note: str
    stopped: bool = False
    """As not safe, by whoever called it: withdrawn, and not to be nosed or tasted again."""


@dataclass(frozen=True)
class OpenCall:
    """A call for the lead that nobody has answered yet."""

    reason: str
    called_at: datetime


@dataclass(frozen=True)
class WordLimits:
    """What holds for the words of one assessor: how many at most, and which stay as they are."""

    most: int | None
    scored: frozenset[int]


@dataclass(frozen=True)
class Tray:
    """Everything one booth shows, read in one transaction."""

    session: str
    held_as: SessionKind
    tasted: bool
    may_go_back: bool
    pause_s: int
    time_zone: str
    not_at_best: bool
    lines: tuple[Line, ...]
    glasses: tuple[Glass, ...]
    calls: tuple[OpenCall, ...]
    own: WordLimits | None = None
    """Only where each assessor names the lines, which are those words."""
    told: str = ""
    """What everybody is told of the glasses, where a session tells it; never what is in which."""
    air_s: int = 0
    """The air between two blocks of glasses, where it is longer than the pause within one."""

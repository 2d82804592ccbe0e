"""The house's verdict words, and how a sentence is put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

from ...counted import measured
from ...digits import in_digits


class PanelWord(StrEnum):
    """What a panel's scores of one descriptor are good for."""

    SAFE = "safe to act on"
    SECOND_LOOK = "act with a second look"
    DO_NOT = "do not act on"
    ALIKE = "casks alike on this note"
    ONE_MIND = "of one mind, error not known"
    CANNOT_TELL = "cannot tell yet"
    ORDER = "order and cask cannot be told apart"
    CAMPS = "two camps, each the other way round"
    TOO_LITTLE = "too little yet"


class AssessorWord(StrEnum):
    """How one assessor read the glasses."""

    WITH = "reads with the panel"
    WIDER = "uses a wider line"
    NARROWER = "uses a narrower line"
    UNSTEADY = "less steady than the others"
    REVERSED = "opposite way round, check the glass first"
    MOVED = "tray moved on by one glass"
    TRAYS = "trays of two people exchanged"
    FLAT = "did not separate these glasses"
    MOVING_UP = "moving upward"
    MOVING_DOWN = "moving downward"
    APART = "far from the others"
    CANNOT_TELL = "cannot tell yet"
    TOO_LITTLE = "too little yet"


Word_co = TypeVar("Word_co", bound=StrEnum, covariant=True)


@dataclass(frozen=True)
class Verdict(Generic[Word_co]):
    """A word of the house's, what is said, and what to do next.

    Attributes
    ----------
    word
        What anything else goes by: nothing is decided by the text below.
    said
        The finding, without a full stop.
    next_action
        What to do, without a full stop.
    since
        Date or session from which somebody moves; None with every other word.
    """

    word: Word_co
    said: str
    next_action: str
    since: str | None = None

    @property
    def label(self) -> str:
        """The word as people read it."""
        return str(self.word) if self.since is None else f"{self.word} since {self.since}"

    @property
    def sentence(self) -> str:
        """The finding and the next action in one."""
        return f"{self.said}: {self.next_action}."

    beside_types = (("", str), ("sentence", str), ("next_action", str))

    def beside(self, name: str) -> dict[str, str]:
        """Label, sentence and next action, for what carries the verdict."""
        return {name: self.label, "sentence": self.sentence, "next_action": self.next_action}


OWN_ORDER = "pour them again, each tray in an order of its own"
ONE_MIND_ACTION = "use these means if the scores were given apart from one another"
AT_THE_REVEAL = "the blind duplicates that were poured count from the reveal on"
"""What to do where nothing lacks but what the codes still hide."""
CAMPS_ACTION = "nose the reference of this note together and agree which end of the line is which"
"""What to do about a note that half a panel reads the other way round."""
AGREE_ON_ENDS = "nose the references together and agree which end of each line is which"
"""What to do where two camps leave nobody to judge anybody by."""
MORE_IS_NOT_IT = (
    "nose the references together and talk the words over: more sessions alone would not decide it"
)
"""What to do where much is known of somebody, and it is too little likeness to the others."""
OTHER_CASKS_DECIDE = "let more sessions decide, of casks not poured so far"
"""What to do where more may decide on somebody: an opinion of a cask counts once, however often
the cask comes back. How many is not said: of a number less than half was held."""
IS_ABSENT = "keep it on the sheet: it ought to be absent, and is looked for all the same"
"""What to do with a note of a fault on which the casks are alike."""


def points(value: float | None) -> str:
    """Points of the 0-100 line in words; small ones with a decimal."""
    if value is None:
        return "an unknown number of points"
    whole = f"{value:.0f}" if value >= 1.0 or value < 0.05 else in_digits(value, ".1f")
    return f"{whole} point" if whole == "1" else f"{whole} points"


def cared_for(tolerance: float) -> str:
    """The difference that a house cares for, in points, as it was set: 2.5 stays 2.5."""
    return measured(tolerance, "point")


NOT_TOLD_APART = "the panel as a whole did not tell the samples apart"
"""Why nobody is judged by a note."""


def too_few(least: int) -> str:
    """Why nobody is judged by a note that fewer people scored than a panel has."""
    return f"fewer than {least} assessors"


def too_near(tolerance: float) -> str:
    """Why nobody is judged by a note on which the samples hardly differ."""
    return f"the samples lie within {cared_for(tolerance)} of one another"


def capital(descriptor: str) -> str:
    """A descriptor at the head of a sentence."""
    return descriptor[:1].upper() + descriptor[1:]


def listed(parts: Sequence[str]) -> str:
    """Names with commas and an and."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"

"""What is said of the next session: who noses what, why, and what deciding now would cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable, listed
from ..target import LeftOut
from .cut import Cut
from .vat_mind import VatMind


class Question(StrEnum):
    """What is to be decided."""

    BEST = "best casks for a target"
    WITHIN = "vatting within tolerance"
    READY = "which cask is ready when"
    RECORD = "which record matters"


class Unit(StrEnum):
    """What a loss, and the value of a glass, are counted in."""

    POINTS = "points"
    YEARS = "years"


class Why(StrEnum):
    """Why a cask is in a session; the first that holds, from the top."""

    ASKED = "asked for"
    SPREAD = "one of the first, spread evenly"
    BLEND = "the bench blend itself"
    UNNOSED = "never nosed"
    APART = "known only in sessions that share no glass with those compared"
    OLD = "nosed long ago"
    DECIDES = "near the cut"
    PART = "part of the vatting"
    DATE = "its date is not known"
    LEVEL = "its record is seldom nosed"


class Halt(StrEnum):
    """Whether to go on nosing."""

    GO_ON = "go on"
    TOO_EARLY = "too early to stop"
    ENOUGH = "enough"
    NOTHING_LEFT = "no glass would change anything"
    CANNOT_TELL = "cannot tell yet"


@dataclass(frozen=True)
class Reason:
    """Why a cask is poured, in values; None where one does not apply.

    Attributes
    ----------
    why
        The first of the reasons that holds.
    chance
        Chance that the cask belongs to the best (of a vatting: that its worst line is within
        tolerance), as it is known now.
    if_better, if_worse
        The same after the session, should it find the cask better or worse: of the best casks on
        average over the sessions that do, else by one standard deviation of what it can be
        expected to say.
    off, off_sd
        How far off the target it is expected to be, in points, and how well that is known. Of a
        vatting: how far its worst line lies beyond the nearer end of its tolerance, below zero
        within; of a date: the years until then.
    n_glasses, last_nosed, years_since
        Glasses of it that were nosed, when the last, and how long before the day of the question.
    note
        The note that tells most about it.
    level
        For a record: the level that the cask stands for.
    """

    why: Why
    chance: float | None = None
    if_better: float | None = None
    if_worse: float | None = None
    off: float | None = None
    off_sd: float | None = None
    n_glasses: int = 0
    last_nosed: date | None = None
    years_since: float | None = None
    note: str | None = None
    level: str | None = None


@dataclass(frozen=True)
class Glass:
    """One glass for one assessor.

    Attributes
    ----------
    cask
        None for a bench blend.
    sample
        The sample that is at hand for it; None where it has to be drawn (or blended) first.
    value
        Its share of what the session saves, in the unit of the loss, by what it added given the
        glasses before it: all glasses together are what the session saves.
    """

    assessor: str
    cask: str | None
    sample: str | None
    value: float
    reason: Reason


@dataclass(frozen=True)
class CaskToPour:
    """One cask (or the bench blend, `cask` None) of the session.

    Attributes
    ----------
    n_glasses
        How many people nose it.
    value
        What its glasses have together of what the session saves.
    to_draw
        Whether a sample has to be drawn first.
    shed
        Where it lies; None where that is not known or nothing has to be drawn.
    """

    cask: str | None
    sample: str | None
    n_glasses: int
    value: float
    to_draw: bool
    shed: str | None
    reason: Reason


@dataclass(frozen=True)
class Change:
    """What would change your mind about one cask, or one part or line of a vatting.

    Attributes
    ----------
    chosen
        Whether it is among the chosen now.
    crosses
        Chance that the session proposed moves it over the cut.
    one_glass
        How much of that chance a single glass of it in that session makes up: it alone would move
        it over already, where casks are chosen by `LEAST_PAST` points or more.
    assessor, note
        Whose glass that is, and the note that it hangs on; None where the session has no glass of
        it, so that only what is found of others moves it.
    against
        The cask on the other side of the cut: of the chosen the nearest that is not, of the others
        the chosen one that is furthest off. None of lines, dates and blends.
    """

    cask: str
    chosen: bool
    chance: float
    crosses: float
    one_glass: float
    assessor: str | None
    note: str | None
    against: str | None = None


@dataclass(frozen=True)
class Stop:
    """When to stop nosing.

    Attributes
    ----------
    at
        The loss at which it may stop, in the unit of the loss.
    n_sessions, fewest
        Sessions held, and before how many of them a loss is promised too low to stop by.
    """

    halt: Halt
    at: float
    n_sessions: int
    fewest: int

    json_also = ("stop",)

    @property
    def stop(self) -> bool:
        """Whether to stop."""
        return self.halt in {Halt.ENOUGH, Halt.NOTHING_LEFT}


@dataclass(frozen=True, repr=False)
class NextSession(AsJson, Readable):
    """The next session, and what it is for.

    Attributes
    ----------
    question, about
        What is to be decided, and of which target, release, make or record.
    unit
        Of every loss and value here.
    glasses
        Who noses which glass, in the order in which they were found worth it.
    casks
        The casks poured, the one that adds most first.
    chosen
        The casks that would be chosen now, the best first.
    cut
        Between which two casks the choice ends; None where none are chosen, or where the question
        is another.
    expected_loss, expected_loss_after
        What deciding now is expected to cost, and deciding after the session, by draws from the
        joint fit; None where nothing was nosed yet.
    bottles, bottles_after
        The same as bottles that come from a cask which does not belong to the best, or from a
        vatting that is off; None where nobody asked.
    stop
        Whether to go on.
    changes
        What would change your mind, those likeliest to change first.
    left_out
        Casks that cannot be poured or chosen, each with the reason.
    n_casks, n_glasses_nosed
        Casks weighed, and glasses of them nosed so far.
    added
        What its glasses added together as the filling weighs them; a shed is priced in that.
    vat
        Of a vatting what it hangs on; None where the question is another, or nobody can nose.
    """

    question: Question
    about: str
    unit: Unit
    glasses: tuple[Glass, ...]
    casks: tuple[CaskToPour, ...]
    chosen: tuple[str, ...]
    expected_loss: float | None
    expected_loss_after: float | None
    bottles: float | None
    bottles_after: float | None
    stop: Stop
    changes: tuple[Change, ...]
    left_out: tuple[LeftOut, ...]
    n_casks: int
    n_glasses_nosed: int
    seed: int
    cut: Cut | None = None
    added: float = 0.0
    vat: VatMind | None = None

    json_keys = (
        *("question", "about", "unit", "glasses", "casks", "chosen", "cut", "expected_loss"),
        *("expected_loss_after", "saves", "bottles", "bottles_after", ("stop", "**"), "changes"),
        *("left_out", "n_casks", "n_glasses_nosed", "seed", "vat"),
    )

    @property
    def saves(self) -> float | None:
        """What the session is expected to save; None where no loss is known."""
        if self.expected_loss is None or self.expected_loss_after is None:
            return None
        return self.expected_loss - self.expected_loss_after

    def said(self) -> Iterator[str]:
        """Give what is to be decided, what it costs, and the casks."""
        yield f"{self.about}: {self.question.value}, {self.stop.halt.value}."
        if self.expected_loss is not None:
            yield (
                f"Deciding now costs {in_digits(self.expected_loss, '.2f')} "
                f"{self.unit.value} on average."
            )
        if self.saves is not None:
            yield f"The session is expected to save {in_digits(self.saves, '.2f')}."
        yield from listed(
            (
                f"{one.cask or 'bench blend'}: {one.n_glasses} glasses, {one.reason.why.value}"
                for one in self.casks
            ),
            most=12,
        )

    def rows(self) -> Iterable[object]:
        """Give the glasses."""
        return self.glasses

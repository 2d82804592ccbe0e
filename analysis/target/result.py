"""What a match says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from ..as_json import AsJson
from ..chance_words import in_100
from ..digits import in_digits
from ..readable import Readable, listed


@dataclass(frozen=True)
class CaskMatch:
    """One cask against a target.

    Attributes
    ----------
    probability
        Chance that every descriptor of the target lies within its tolerance.
    distance
        Expected squared distance in tolerances, weighted and averaged over the descriptors: 1
        means off by a tolerance on each, uncertainty counted in.
    worst_descriptor, worst_off
        The descriptor furthest off its aim, and by how many tolerances (above the aim is
        positive).
    n_scores
        Scores behind the estimates, over the descriptors of the target.
    last_nosed
        Date of the last session that nosed this draw; None if unknown.
    drawn_on, years_moved, moved
        When it was drawn, over how many years its notes were moved to the day of the match, and
        how they could be; None where nothing was moved.
    held_against
        What the records hold against using it although it is ranked; None if nothing.
    """

    cask: str
    filling: str | None
    sample: str
    probability: float
    distance: float
    worst_descriptor: str
    worst_off: float
    n_scores: int
    last_nosed: date | None
    drawn_on: date | None = None
    years_moved: float | None = None
    moved: str | None = None
    decides: bool = False
    held_against: str | None = None

    json_also = ("note",)

    @property
    def note(self) -> str | None:
        """Why there is no date; None where there is one."""
        return None if self.last_nosed else "the session has no date"


@dataclass(frozen=True)
class LeftOut:
    """A cask that could not be ranked, and why."""

    cask: str
    sample: str
    reason: str


@dataclass(frozen=True, repr=False)
class Match(AsJson, Readable):
    """Casks that suit a target, best first.

    Attributes
    ----------
    sentence, next_action
        How sure the list is, in one sentence.
    best_is_best
        Chance that the first of the list is truly nearest to the target.
    first_hold_best
        Chance that the truly nearest is among the first eight.
    n_distinguishable
        How many of the first eight are surely (9 in 10) further off than the first.
    note
        What to know of the sessions before the list is read; None where all are well tied.
    stock_on
        The day that the casks are matched as of; None where each is as it was nosed.
    beside_first
        Those of the first eight that cannot be told from the first yet, in order.
    beside_best
        The sentence without its action, where that is to see whether nosing on pays: to stand
        beside the answer to it. None where the action is another.
    """

    target: str
    sentence: str
    next_action: str
    casks: tuple[CaskMatch, ...]
    left_out: tuple[LeftOut, ...]
    n_ranked: int
    best_is_best: float | None
    first_hold_best: float | None
    n_distinguishable: int | None
    seed: int
    note: str | None = None
    stock_on: date | None = None
    beside_first: tuple[str, ...] = ()
    beside_best: str | None = None

    json_keys = (
        *("target", "stock_on", "note", "sentence", "next_action", "n_ranked", "best_is_best"),
        *("first_hold_best", "n_distinguishable", "seed", "casks", "left_out"),
    )

    def said(self) -> Iterator[str]:
        """Give how sure the list is and what to do, then the first of it."""
        yield f"{self.target}: {self.sentence}"
        if self.note:
            yield self.note
        yield from listed(
            f"{place}. {one.cask}: {in_100(one.probability)}, furthest off on "
            f"{one.worst_descriptor} ({in_digits(one.worst_off, '+.1f')} tolerances)"
            for place, one in enumerate(self.casks, start=1)
        )
        yield f"{self.n_ranked} ranked, {len(self.left_out)} left out."

    def rows(self) -> Iterable[object]:
        """Give the casks, best first."""
        return self.casks

"""What a chart of somebody over sessions says: frozen values that know how to become JSON."""

from __future__ import annotations

from dataclasses import dataclass

from ...as_json import AsJson
from ..verdict.drift import MOVING, Direction
from ..verdict.evening import OwnDrift
from ..verdict.words import AssessorWord, Verdict

_REASON_OF_NONE = "sums of evidence over every start have no slope and no p"


@dataclass(frozen=True)
class DriftPoint:
    """One session of a chart.

    Attributes
    ----------
    off
        Points of the 0-100 line away from the usual.
    average
        The level there: of everybody called, before and after the likeliest start.
    evidence
        The sum as it stood after this session.
    """

    session: str
    held_on: str | None
    off: float
    average: float
    evidence: float | None = None


@dataclass(frozen=True)
class DriftStart:
    """When a movement began: the likeliest session, the first and last that may be (95 in 100)."""

    session: str
    held_on: str | None
    first: str
    first_held_on: str | None
    last: str
    last_held_on: str | None


@dataclass(frozen=True)
class DriftSize:
    """How far somebody moved, in points, with bounds that hold it 95 times in 100."""

    points: float
    low: float
    high: float


@dataclass(frozen=True)
class Drift(AsJson):
    """How one assessor, or the panel, has moved over sessions.

    Attributes
    ----------
    assessor
        None for the panel as a whole, on its hidden reference. An assessor is held against the
        others on every glass, so a session's mood is not taken for a person's drift.
    descriptor
        None for all notes together: somebody who moves up the whole line a little.
    sd
        How far a session strays, the wandering from one to the next allowed for.
    autocorrelation
        That wandering, as far as it is more than chance.
    average
        Where the level stands now.
    evidence, limit
        Sum of the Bayes factors over every start, and what it takes to be called.
    note
        What has to be known to read it, such as batches without overlap.
    reason
        Why there are no figures.
    start, moved
        When and how far, of somebody who is called; else None.
    verdict
        Of somebody who moves: which way, and since which date (or session); else None.
    """

    assessor: str | None
    descriptor: str | None
    n_sessions: int
    sd: float | None
    average: float | None
    limit: float | None
    note: str | None
    reason: str | None
    points: tuple[DriftPoint, ...]
    evidence: float | None = None
    autocorrelation: float | None = None
    start: DriftStart | None = None
    moved: DriftSize | None = None
    verdict: Verdict[AssessorWord] | None = None

    json_keys = (
        *("assessor", "descriptor", "n_sessions", "slope_per_session", "p", "sd", "average"),
        *("limit", "note", "reason", "points", "p_adjusted", "direction", "since", "sentence"),
        *("next_action", "evidence", "autocorrelation", "start", "moved", "not_reckoned"),
    )

    @property
    def slope_per_session(self) -> float | None:
        """None: see `not_reckoned`."""
        return None

    @property
    def p(self) -> float | None:
        """None: see `not_reckoned`."""
        return None

    @property
    def p_adjusted(self) -> float | None:
        """None: see `not_reckoned`."""
        return None

    @property
    def not_reckoned(self) -> str:
        """Why slope and p are None."""
        return _REASON_OF_NONE

    @property
    def own_facts(self) -> OwnDrift:
        """What the person is told of it."""
        moved, start = self.moved, self.start
        return OwnDrift(
            n_sessions=self.n_sessions,
            charted=self.reason is None,
            points=None if moved is None else moved.points,
            bounds=None if moved is None else (moved.low, moved.high),
            since=self.since,
            earliest=None if start is None else start.first_held_on or start.first,
            latest=None if start is None else start.last_held_on or start.last,
        )

    @property
    def direction(self) -> Direction | None:
        """Which way somebody moves."""
        if self.verdict is None:
            return None
        return next(way for way, word in MOVING.items() if word is self.verdict.word)

    @property
    def since(self) -> str | None:
        """Since when somebody moves."""
        return None if self.verdict is None else self.verdict.since

    @property
    def sentence(self) -> str | None:
        """What is said of somebody who moves."""
        return None if self.verdict is None else self.verdict.sentence

    @property
    def next_action(self) -> str | None:
        """What to do about it."""
        return None if self.verdict is None else self.verdict.next_action

"""What a booth asks of the records, one small value a deed; each is one transaction.

The queries are imported when a job runs, so that the screens stand before the database is loaded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Protocol

from panel.session import naming, scoring, sets, traces
from panel.store.booth_tray import second_of

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.booth_tray import Seat, Tray
    from panel.store.engine import Store


class Job(Protocol):
    """One deed of an assessor."""

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Do it in the transaction of *db*."""


@dataclass(frozen=True)
class KeepScores:
    """Lines of one glass; None makes a line blank again."""

    serving_id: int
    values: Mapping[int, int | None]

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Save all of them or none."""
        from panel.store import booth_queries

        booth_queries.save_scores(db, seat, self.serving_id, self.values, now)


@dataclass(frozen=True)
class RestZero:
    """The low end of its line on purpose, wherever a glass is still blank."""

    serving_id: int

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Set it on the lines that are blank as the records stand now."""
        from panel.store import booth_queries

        booth_queries.save_rest_zero(db, seat, self.serving_id, now)


@dataclass(frozen=True)
class ZerosBack:
    """Lines blank again that were set to their low end together, where they still stand there."""

    serving_id: int
    lines: frozenset[int]

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Make them blank, but for those that were scored since."""
        from panel.store import booth_queries

        tray = booth_queries.tray(db, seat)
        still = {line: None for line in scoring.lines_at_low(tray, self.serving_id) & self.lines}
        booth_queries.save_scores(db, seat, self.serving_id, still, now)


@dataclass(frozen=True)
class TakeUp:
    """The glass in hand, new or taken up again, by the code on it."""

    code: str

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Check the rules once more on what the records say now, then take it."""
        from panel.store import booth_queries

        glass = scoring.may_take(booth_queries.tray(db, seat), self.code, now)
        if glass.finished_at is not None:
            booth_queries.go_back_to(db, seat, glass.serving_id, now)
        else:
            booth_queries.take_glass(db, seat, self.code, now)


@dataclass(frozen=True)
class NameWord:
    """A word of the assessor's own, as typed."""

    typed: str

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Keep it as the last line, as long as the first flight runs."""
        from panel.store import booth_queries

        naming.check_naming(booth_queries.tray(db, seat))
        booth_queries.name_word(db, seat, self.typed, now)


@dataclass(frozen=True)
class RenameWord:
    """An own word written anew."""

    word_id: int
    typed: str

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Write it, as long as the first flight runs and nothing was scored on it."""
        from panel.store import booth_queries

        naming.check_naming(booth_queries.tray(db, seat))
        booth_queries.rename_word(db, seat, self.word_id, self.typed, now)


@dataclass(frozen=True)
class TakeWordBack:
    """An own word forgotten."""

    word_id: int
    word: str

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Forget it, if nothing was scored on it and it is not the only line of a begun tray."""
        from panel.store import booth_queries

        naming.check_taking_back(booth_queries.tray(db, seat), self.word_id)
        booth_queries.take_word_back(db, seat, self.word_id, now)


@dataclass(frozen=True)
class PutDown:
    """A glass is finished."""

    serving_id: int

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Finish it; the pause begins."""
        from panel.store import booth_queries

        booth_queries.finish_glass(db, seat, self.serving_id, now)


@dataclass(frozen=True)
class AnswerSet:
    """The answer to the set in hand: a place by glass; without any it is left unanswered."""

    number: int
    places: Mapping[int, int]

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Check it against what the records say now, then keep it; the pause begins."""
        from panel.store import booth_queries

        sets.check_answer(booth_queries.tray(db, seat), self.number, self.places)
        booth_queries.answer_set(db, seat, self.number, self.places, now)


@dataclass(frozen=True)
class KeepPrompt:
    """The answer at one second of a trace; without `at_s` the wall's clock tells when it came."""

    serving_id: int
    number: int
    value: int
    at_s: float | None = None

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Keep it with the second it was given at."""
        from panel.store import booth_queries

        tray = booth_queries.tray(db, seat)
        at_s = traces.checked_second(tray, self.serving_id, self.number, self.at_s, now)
        values: dict[int, float | None] = {
            self.number: float(self.value),
            second_of(self.number): at_s,
        }
        booth_queries.save_scores(db, seat, self.serving_id, values, now)


@dataclass(frozen=True)
class MarkFault:
    """A fault mark set on a glass or taken off."""

    serving_id: int
    fault: str
    on: bool

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Set it or take it off."""
        from panel.kinds import Fault
        from panel.store import booth_queries

        booth_queries.mark_fault(db, seat, self.serving_id, Fault(self.fault), now, on=self.on)


@dataclass(frozen=True)
class KeepNote:
    """What the assessor wrote about a glass."""

    serving_id: int
    text: str

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Keep it."""
        from panel.store import booth_queries

        booth_queries.save_note(db, seat, self.serving_id, self.text, now)


@dataclass(frozen=True)
class CallLead:
    """A call for the lead."""

    reason: str
    serving_id: int | None = None

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Record it; the lead's screen shows it."""
        from panel.kinds import CallReason
        from panel.store import booth_queries

        booth_queries.call_lead(db, seat, CallReason(self.reason), now, self.serving_id)


@dataclass(frozen=True)
class OwnMark:
    """Not my best nose today, without a cause."""

    on: bool

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Set it or take it off."""
        from panel.store import booth_queries

        booth_queries.not_at_best(db, seat, now, on=self.on)


@dataclass(frozen=True)
class LookAgain:
    """Nothing to save: only see what the records say now."""

    def save(self, db: Session, seat: Seat, now: datetime) -> None:
        """Save nothing."""


def perform(store: Store, seat: Seat, job: Job, now: datetime) -> Tray:
    """Do *job*, commit it, and return the tray as it is then.

    It is read once the job is kept and the lock is free: whoever else saves need not wait for it.
    """
    from panel.store import booth_queries

    if isinstance(job, LookAgain):
        with store.read() as db:
            return booth_queries.tray(db, seat)
    with store.write() as db:
        job.save(db, seat, now)
    with store.read() as db:
        return booth_queries.kept_tray(db, seat)

"""What an answer stands on, to print beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.questions.sessions import held_later
from panel.store.log import head_hash

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class StandsOn:
    """The day an answer is of, and the newest link of the log as it was asked for.

    `held_later` are the sessions dated after that day, where an answer of all sessions lacks them.
    """

    as_of: date
    log_head: str
    held_later: tuple[str, ...] = ()


def stands_on(db: Session, as_of: date) -> StandsOn:
    """Return what an answer that is asked for now stands on."""
    return StandsOn(as_of, head_hash(db))


def stands_on_sessions(db: Session, *, today: date, as_of: date | None) -> StandsOn:
    """Return what an answer over all sessions stands on, with those it lacks as of its day."""
    day = as_of or today
    return replace(stands_on(db, day), held_later=held_later(db, day))

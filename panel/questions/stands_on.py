"""What an answer stands on, to print beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.store.log import head_hash

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class StandsOn:
    """The day an answer is of, and the newest link of the log as it was asked for."""

    as_of: date
    log_head: str


def stands_on(db: Session, as_of: date) -> StandsOn:
    """Return what an answer that is asked for now stands on."""
    return StandsOn(as_of, head_hash(db))

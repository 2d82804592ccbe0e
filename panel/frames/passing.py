"""The frame of passed and held glasses; part of `panel.frames`, which hands it on."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.kinds import SessionStatus
from panel.store.finding import find_session
from panel.store.passed_glasses import PassedGlass, passed_glasses
from panel.store.passing import Passing

if TYPE_CHECKING:
    import pandas as pd

PASSING_COLUMNS = (
    *("session", "held_on", "assessor", "block", "sample", "cask", "replicate"),
    *("there_for", "family", "held", "faults", "status"),
)


def passing_frame(db: Session, name: str) -> pd.DataFrame:
    """Return one passing session: a row a glass that somebody passed or held.

    Columns: session, held_on, assessor, block, sample, cask, replicate, there_for (cask, spike,
    sound), family (of a spike, else empty), held, faults (named, with ", " between), status (kept
    or knew_key).

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        It is no passing session, or not revealed yet: before that nobody knows what was planted.
    """
    session = find_session(db, name)
    if db.get(Passing, session.id) is None:
        raise WrongState(
            f"Session {name} was {session.kind.facts.scored}: "
            f"`oakpanel agreement {name}` judges it."
        )
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: what was passed and held is told once it "
            f"is revealed. `oakpanel session show {name}` tells how far it is."
        )
    rehearsal = session.rehearsal
    return _frame(passed_glasses(db, sessions=[session.id], rehearsals=rehearsal))


def mornings_frame(db: Session, *, until: date) -> pd.DataFrame:
    """Return all revealed passing sessions up to a day, in the same columns."""
    return _frame(passed_glasses(db, by=until))


def _frame(glasses: list[PassedGlass]) -> pd.DataFrame:
    import pandas as pd

    rows = [
        (
            *(glass.session, glass.held_on, glass.assessor, glass.block, glass.sample),
            *(glass.cask or "", glass.replicate, _there_for(glass)),
            *(glass.spike.value if glass.spike else "", glass.held),
            *(", ".join(fault.value for fault in glass.faults), glass.status),
        )
        for glass in glasses
    ]
    frame = pd.DataFrame(rows, columns=list(PASSING_COLUMNS))
    return frame.astype({"held": bool, "block": int, "replicate": int})


def _there_for(glass: PassedGlass) -> str:
    if not glass.planted:
        return "cask"
    return "sound" if glass.spike is None else "spike"

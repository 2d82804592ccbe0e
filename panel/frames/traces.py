"""The frame of a traced session; part of `panel.frames`, which hands it on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.frames.on_trays import told_of_glasses
from panel.frames.statuses import status_told
from panel.kinds import SessionStatus
from panel.store.answers import Answer
from panel.store.booth_tray import second_of
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

if TYPE_CHECKING:
    import pandas as pd

TRACE_COLUMNS = (
    *("session", "assessor", "position", "glass", "sample"),
    *("second", "at_s", "given", "status"),
)


def traces_frame(db: Session, name: str) -> pd.DataFrame:
    """Return a traced session: one row a second that was asked for, of each glass on a tray.

    Columns: session, assessor, position, glass (its code), sample (the draw's label), second (asked
    for), at_s (when the answer came; missing: not answered), given (0 to 9), status (kept, void,
    knew_key, swap_suspected). A glass that was poured again is there as its last pouring.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        It is not revealed yet, or no glass of it was traced.
    """
    import pandas as pd

    session = traced_session(db, name)
    told = (Serving.id, Person.code, Serving.position, Serving.code, Draw.label, status_told())
    rows = db.execute(told_of_glasses(session.id, *told)).all()
    given = _given(db, [row[0] for row in rows])
    made = [
        (name, who, place, code, label, second, *_answer(given.get(glass, {}), number), status)
        for glass, who, place, code, label, status in rows
        for number, second in enumerate(session.kind.facts.prompts_s, start=1)
    ]
    frame = pd.DataFrame(made, columns=list(TRACE_COLUMNS))
    return frame.astype({"at_s": "float64", "given": "float64"})


def _given(db: Session, glasses: list[int]) -> dict[int, dict[int, float]]:
    """Return what was answered, by glass and question."""
    found: dict[int, dict[int, float]] = {}
    for answer in db.scalars(select(Answer).where(Answer.serving_id.in_(glasses))):
        found.setdefault(answer.serving_id, {})[answer.question] = answer.value
    return found


def _answer(answers: dict[int, float], number: int) -> tuple[float | None, float | None]:
    return answers.get(second_of(number)), answers.get(number)


def traced_session(db: Session, name: str) -> PanelSession:
    """Return a revealed session in which a note was traced.

    Raises
    ------
    UnknownRecord, WrongState
        As `traces_frame`.
    """
    session = find_session(db, name)
    if not session.kind.facts.traced:
        raise WrongState(
            f"Session {name} was {session.kind.facts.scored}, not traced: "
            f"`oakpanel agreement {name}` judges it."
        )
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: its key tells which glasses were alike. "
            f"`oakpanel session show {name}` tells how far it is; after the reveal it is judged."
        )
    return session

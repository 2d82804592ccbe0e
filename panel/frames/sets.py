"""The frame of a session in sets; part of `panel.frames`, which hands it on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import and_, select
from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.frames.on_trays import told_of_glasses
from panel.frames.statuses import status_told
from panel.kinds import GlassKind, SessionStatus
from panel.store.answers import ONLY_QUESTION, Answer
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.key import PlannedDraw, PlannedFinding
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving

if TYPE_CHECKING:
    import pandas as pd

SET_COLUMNS = ("session", "assessor", "set", "position", "code", "product", "place", "status")


def sets_frame(db: Session, name: str) -> pd.DataFrame:
    """Return the answers to a session in sets: one row a glass that stands on a tray.

    Columns: session, assessor, set, position, code, product (the draw's label), place (what the
    glass was given in its set; missing: not answered), status (kept, void, knew_key,
    in_training, swap_suspected). A glass that was poured again is there once, as its last pouring.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        It is not revealed yet, or its glasses stand in no sets.
    """
    import pandas as pd

    session = sets_session(db, name)
    told = (
        *(Person.code, Serving.flight, Serving.position, Serving.code),
        *(Draw.label, Answer.value, status_told()),
    )
    answered = and_(Answer.serving_id == Serving.id, Answer.question == ONLY_QUESTION)
    rows = db.execute(told_of_glasses(session.id, *told).outerjoin(Answer, answered)).all()
    frame = pd.DataFrame(rows, columns=list(SET_COLUMNS[1:]))
    frame.insert(0, "session", session.name)
    frame["place"] = frame["place"].astype("float64")
    return frame


def sets_session(db: Session, name: str) -> PanelSession:
    """Return a revealed session in sets.

    Raises
    ------
    UnknownRecord, WrongState
        As `sets_frame`.
    """
    session = find_session(db, name)
    if not session.kind.facts.in_sets:
        raise WrongState(
            f"Session {name} was {session.kind.facts.scored}, not answered set by set: "
            f"`oakpanel agreement {name}` judges it."
        )
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: its key tells which answers are right. "
            f"`oakpanel session show {name}` tells how far it is; after the reveal it is judged."
        )
    return session


def products_of(db: Session, session: PanelSession) -> tuple[str, ...]:
    """Return the draws of a session in the order of its plan; one expected to be stronger first."""
    asked = (
        select(Draw.label, Draw.id)
        .join(PlannedDraw, PlannedDraw.draw_id == Draw.id)
        .where(PlannedDraw.session_id == session.id, PlannedDraw.kind != GlassKind.REFERENCE)
        .order_by(PlannedDraw.place)
    )
    found = db.get(PlannedFinding, session.id)
    expected = None if found is None else found.stronger_id
    rows = sorted(db.execute(asked).all(), key=lambda row: row[1] != expected)
    return tuple(label for label, _ in rows)


def finding_of(db: Session, session: PanelSession) -> PlannedFinding | None:
    """Return what a session asked before its first glass, where anything was."""
    return db.get(PlannedFinding, session.id)

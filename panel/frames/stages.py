"""The frame of notes scored by stages; part of `panel.frames`, which hands it on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from panel.errors import WrongState
from panel.frames.on_trays import told_of_glasses
from panel.frames.statuses import status_told
from panel.kinds import SessionStatus
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.line_tables import BY_STAGE
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.store.stage_lines import STAGES, stage_lines

if TYPE_CHECKING:
    import pandas as pd

STAGE_COLUMNS = (
    *("session", "assessor", "position", "glass", "sample", "note"),
    *(stage.value for stage in STAGES),
    "status",
)


def stages_frame(db: Session, name: str) -> pd.DataFrame:
    """Return the notes of a session by stages: one row a note of each glass on a tray.

    Columns: session, assessor, position, glass (its code), sample (the draw's label), note, nose,
    arrival, development, finish (points of 0 to 100, whatever the line's ends; missing: blank),
    status (kept, void, knew_key, in_training, swap_suspected). Warm-up glasses are left out; a
    glass that was poured again is there as its last pouring.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    WrongState
        It is not revealed yet, or no note of it was scored by stages.
    """
    import pandas as pd

    session = staged_session(db, name)
    told = (Serving.id, Person.code, Serving.position, Serving.code, Draw.label, status_told())
    asked = told_of_glasses(session.id, *told).where(~Serving.warm_up)
    rows = db.execute(asked).all()
    given = _given(db, [row[0] for row in rows])
    lines = _by_note(session)
    made = [
        (name, who, place, code, label, note, *(given.get((glass, n)) for n in numbers), status)
        for glass, who, place, code, label, status in rows
        for note, numbers in lines.items()
    ]
    frame = pd.DataFrame(made, columns=list(STAGE_COLUMNS))
    frame = frame.astype({stage.value: "float64" for stage in STAGES})
    return _on_line(frame, session)


def _by_note(session: PanelSession) -> dict[str, list[int]]:
    """Return the numbers of the lines of each note by stages, in the order of the stages."""
    found: dict[str, list[int]] = {}
    for line in stage_lines(session.descriptors):
        if line.staged:
            note = line.row.descriptor_version.descriptor.name
            found.setdefault(note, []).append(line.number)
    return found


def _given(db: Session, glasses: list[int]) -> dict[tuple[int, int], float]:
    given = BY_STAGE.given(db, glasses)
    return {(glass, line): score.value for glass, line, score in given}


def _on_line(frame: pd.DataFrame, session: PanelSession) -> pd.DataFrame:
    """Lay every score out on 0 to 100; what lies off its line counts as blank."""
    for line in stage_lines(session.descriptors):
        if line.staged:
            mine = frame["note"] == line.row.descriptor_version.descriptor.name
            low, high = line.row.scale_low, line.row.scale_high
            points = 100.0 * (frame.loc[mine, line.stage.value] - low) / (high - low)
            frame.loc[mine, line.stage.value] = points.where(points.between(0.0, 100.0))
    return frame


def staged_session(db: Session, name: str) -> PanelSession:
    """Return a revealed session in which notes were scored by stages.

    Raises
    ------
    UnknownRecord, WrongState
        As `stages_frame`.
    """
    session = find_session(db, name)
    if not session.kind.facts.staged:
        raise WrongState(
            f"Session {name} was {session.kind.facts.scored}, not by stages: "
            f"`oakpanel agreement {name}` judges it."
        )
    if session.status is not SessionStatus.REVEALED:
        raise WrongState(
            f"Session {name} is {session.status.value}: where its notes lie is told after the "
            "reveal, sample by sample."
        )
    return session

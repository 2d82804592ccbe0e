"""The scores frame, read from the store: what stands behind each glass once, then every line.

A glass has ten or twenty lines; what is the same for all of them (session, assessor, draw, cask)
is looked up and read once a glass, and spread over its lines afterwards.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from analysis.score_statuses import NOT_REACHED
from panel.frames.blanks import blank_lines
from panel.frames.off_line import numbers_of, off_line_told
from panel.frames.statuses import status_told
from panel.kinds import GlassKind, SessionStatus
from panel.store.casks import Cask, Filling
from panel.store.drawn_ages import ages_inherited
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
    code_read,
)

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd

SCORE_COLUMNS = (
    *("session", "flight", "held_on", "assessor", "sample", "draw", "filling", "cask", "kind"),
    *("batch", "drawn_on", "age_years", "replicate", "position", "descriptor"),
    *("descriptor_version", "score", "scale_low", "scale_high", "status"),
)
_GLASS = (
    *("session", "flight", "held_on", "assessor", "sample", "draw", "filling", "cask", "kind"),
    *("batch", "drawn_on", "replicate", "position", "status"),
    *("filling_id", "serving_id", "session_id", "finished", "cut_off"),
)
_AT_ONCE = 20_000
"""Scores that are fetched at a time: a million rows as objects would fill the memory."""
_LINE = ("descriptor", "descriptor_version", "scale_low", "scale_high")


def scores_frame(
    db: Session,
    *,
    sessions: Sequence[str] | None = None,
    as_of: date | None = None,
    revealed_only: bool = False,
) -> pd.DataFrame:
    """Return the scores frame of the sessions named, or of all that are finished.

    One row a score, and one without a value for each line left blank. What is stored and is no
    score of its line has a status of its own, and so has what nobody reached before the close.

    Parameters
    ----------
    sessions
        Names; None takes every closed or revealed session.
    as_of
        Leaves out sessions held later.
    revealed_only
        Leaves out closed sessions, whose samples are codes.
    """
    import numpy as np
    import pandas as pd

    which = _which(sessions, as_of)
    known = db.execute(_known_glasses(which)).all()
    coded = [] if revealed_only else db.execute(_coded_glasses(which)).all()
    plain = [tuple(row) for row in (*known, *coded)]
    glasses = pd.DataFrame(plain, columns=list(_GLASS))
    glasses["age_years"] = _ages(db, glasses)
    for column in ("held_on", "drawn_on"):
        glasses[column] = pd.to_datetime(glasses[column])
    lines = _session_lines(db)
    serving, version, value = _scores(db, which)
    glass = _places(glasses["serving_id"].to_numpy(dtype=np.int64), serving)
    line = _lines_of(lines, glasses["session_id"].to_numpy(dtype=np.int64), glass, version)
    rows = np.flatnonzero((glass >= 0) & (line >= 0))
    glass, line, value = _with_blanks(glasses, lines, glass[rows], line[rows], value[rows])
    order = np.lexsort((lines["place"].to_numpy()[line], glass))
    found = pd.concat(
        [
            glasses.take(glass[order]).reset_index(drop=True),
            lines[list(_LINE)].take(line[order]).reset_index(drop=True),
            pd.DataFrame({"score": value[order]}),
        ],
        axis=1,
    )
    return off_line_told(_not_reached_told(found)[list(SCORE_COLUMNS)])


def _not_reached_told(frame: pd.DataFrame) -> pd.DataFrame:
    """Tell lines that a session's close cut off from those that somebody left blank."""
    left = frame["score"].isna() & frame["cut_off"].astype("bool")
    return frame.assign(status=frame["status"].mask(left, NOT_REACHED)) if left.any() else frame


def _with_blanks(
    glasses: pd.DataFrame,
    lines: pd.DataFrame,
    glass: np.ndarray,
    line: np.ndarray,
    value: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Glass, line and value of every score, and after them of every line left blank."""
    import numpy as np

    no_glass, no_line = blank_lines(glasses, lines, glass, line)
    blank = np.full(len(no_glass), np.nan)
    return (
        np.concatenate([glass, no_glass]),
        np.concatenate([line, no_line]),
        np.concatenate([value, blank]),
    )


def _scores(
    db: Session, which: list[ColumnElement[bool]]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Serving, version of the descriptor, and value of every score.

    Taken off the driver's cursor: a million plain tuples need no wrapping.
    """
    import numpy as np

    query = (
        select(Score.serving_id, Score.descriptor_version_id, Score.value)
        .join(Serving, Serving.id == Score.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .where(*which)
    )
    cursor = db.connection().execute(query).cursor
    parts = [np.empty((3, 0))]
    while rows := cursor.fetchmany(_AT_ONCE):
        parts.append(numbers_of(rows))
    serving, version, value = np.concatenate(parts, axis=1)
    return serving.astype(np.int64), version.astype(np.int64), value


def _places(known: np.ndarray, wanted: np.ndarray) -> np.ndarray:
    """Where each wanted number stands among the known ones, -1 where it does not."""
    import numpy as np

    if not len(known):
        return np.full(len(wanted), -1)
    order = np.argsort(known)
    at = np.minimum(np.searchsorted(known, wanted, sorter=order), len(known) - 1)
    found = order[at]
    return np.where(known[found] == wanted, found, -1)


def _session_lines(db: Session) -> pd.DataFrame:
    """The lines of every session: name and version of the descriptor, scale, place."""
    import pandas as pd

    query = (
        select(
            *(SessionDescriptor.session_id, SessionDescriptor.descriptor_version_id),
            *(SessionDescriptor.place, SessionDescriptor.scale_low, SessionDescriptor.scale_high),
            *(Descriptor.name, DescriptorVersion.version),
        )
        .join(DescriptorVersion, DescriptorVersion.id == SessionDescriptor.descriptor_version_id)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
    )
    columns = ["session_id", "version_id", "place", "scale_low", "scale_high"]
    lines = pd.DataFrame(
        db.execute(query).all(), columns=[*columns, "descriptor", "descriptor_version"]
    )
    names = _names_of_versions(db)
    pairs = zip(lines["descriptor"], lines["descriptor_version"], strict=True)
    lines["descriptor"] = [names[pair] for pair in pairs]
    return lines


def _lines_of(
    lines: pd.DataFrame, session: np.ndarray, glass: np.ndarray, version: np.ndarray
) -> np.ndarray:
    """Row of `lines` that each score was given on; -1 where its session has no such line."""
    import numpy as np

    of_session = lines["session_id"].to_numpy(dtype=np.int64)
    of_version = lines["version_id"].to_numpy(dtype=np.int64)
    if not len(lines) or not len(session):
        return np.full(len(glass), -1)
    width = max(int(of_version.max()), int(version.max(initial=0))) + 1
    return _places(of_session * width + of_version, session[glass] * width + version)


def _which(sessions: Sequence[str] | None, as_of: date | None) -> list[ColumnElement[bool]]:
    finished = PanelSession.status.in_([SessionStatus.CLOSED, SessionStatus.REVEALED])
    conditions: list[ColumnElement[bool]] = [finished]
    if sessions is not None:
        conditions.append(PanelSession.name.in_(sessions))
    if as_of is not None:
        conditions.append(or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of))
    return conditions


def _joined(query: Any) -> Any:
    return (
        query.select_from(Serving)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .outerjoin(
            SessionAssessor,
            and_(
                SessionAssessor.session_id == PanelSession.id,
                SessionAssessor.person_id == Person.id,
            ),
        )
    )


def _order_taken() -> ColumnElement[Any]:
    from sqlalchemy import func

    return func.coalesce(Serving.taken_order, Serving.position)


def _cut_off() -> ColumnElement[bool]:
    """Whether somebody had a glass at a booth as the session was closed.

    What came from paper or from a file was never taken at a booth, and is whole.
    """
    return and_(Serving.taken_at.is_not(None), Serving.finished_at.is_(None))


def _known_glasses(which: list[ColumnElement[bool]]) -> Any:
    query = _joined(
        select(
            *(PanelSession.name, Serving.flight, PanelSession.held_on, Person.code),
            *(Draw.label, Draw.label, Filling.label, Cask.number, KeyRow.kind, Draw.batch),
            *(Draw.drawn_on, KeyRow.replicate, _order_taken(), status_told()),
            *(Filling.id, Serving.id, PanelSession.id, Serving.finished_at.is_not(None)),
            _cut_off(),
        )
    )
    return (
        query.join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .where(PanelSession.status == SessionStatus.REVEALED, *which)
        .order_by(PanelSession.held_on, PanelSession.id, Serving.id)
    )


def _coded_glasses(which: list[ColumnElement[bool]]) -> Any:
    from sqlalchemy import case, literal, null

    kind = case((Serving.warm_up, GlassKind.WARM_UP.value), else_=GlassKind.TEST.value)
    query = select(
        *(PanelSession.name, Serving.flight, PanelSession.held_on, Person.code, code_read()),
        *(null(), null(), null(), kind, null(), null(), literal(1)),
        *(_order_taken(), status_told(), null(), Serving.id, PanelSession.id),
        *(Serving.finished_at.is_not(None), _cut_off()),
    )
    return (
        _joined(query)
        .where(PanelSession.status == SessionStatus.CLOSED, *which)
        .order_by(PanelSession.id, Serving.id)
    )


def _ages(db: Session, glasses: pd.DataFrame) -> list[float | None]:
    needed = glasses["filling_id"].notna() & glasses["drawn_on"].notna()
    if not needed.any():
        return [None] * len(glasses)
    nosed = glasses.loc[needed, "filling_id"].unique().tolist()
    inherited = ages_inherited(db, map(int, nosed))
    ages: dict[tuple[int, date], float | None] = {}
    found: list[float | None] = []
    for filling_id, drawn_on, wanted in zip(
        glasses["filling_id"], glasses["drawn_on"], needed, strict=True
    ):
        if not wanted:
            found.append(None)
            continue
        pair = (int(filling_id), drawn_on)
        if pair not in ages:
            ages[pair] = inherited[pair[0]].age_on(drawn_on)
        found.append(ages[pair])
    return found


def _names_of_versions(db: Session) -> dict[tuple[str, int], str]:
    """Give versions that must not be pooled names of their own; the newest keeps the plain one."""
    names: dict[tuple[str, int], str] = {}
    for descriptor in db.scalars(select(Descriptor)):
        label = descriptor.name
        for version in reversed(descriptor.versions):
            names[descriptor.name, version.version] = label
            if not version.pools_with_previous:
                label = f"{descriptor.name} (up to version {version.version - 1})"
    return names

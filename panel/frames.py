"""The only bridge from the store to the analysis: the two tidy frames and a target.

The columns of both frames are described in `analysis`. A session that is not revealed gives its
codes as samples and nothing about the draws behind them.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import ColumnElement, and_, or_, select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord, WrongState
from panel.own_words_frame import OWN_WORD_COLUMNS, own_words_frame
from panel.store.ages import calendar_years
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.filling_states import FillingState, filling_states
from panel.store.finding import find_session
from panel.store.key import GlassKind, KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    ServingStatus,
    SessionAssessor,
    SessionDescriptor,
    SessionStatus,
)
from panel.store.targets import Target

if TYPE_CHECKING:
    import pandas as pd

    from analysis.target import Target as Aim

__all__ = [
    "CASK_COLUMNS",
    "OWN_WORD_COLUMNS",
    "SCORE_COLUMNS",
    "casks_frame",
    "find_session",
    "finished_session",
    "own_words_frame",
    "recent_sessions",
    "scores_frame",
    "stock_frame",
    "target_of",
]

SCORE_COLUMNS = (
    *("session", "flight", "held_on", "assessor", "sample", "draw", "filling", "cask", "kind"),
    *("batch", "drawn_on", "age_years", "replicate", "position", "descriptor"),
    *("descriptor_version", "score", "scale_low", "scale_high", "status"),
)
CASK_COLUMNS = (
    *("cask", "filling", "wood", "previous", "fill_number", "size_l", "age_years"),
    *("phenol_ppm", "fill_abv", "abv", "bulk_l", "lpa", "make", "site", "warehouse", "status"),
)
KNEW_KEY = "knew_key"


def finished_session(db: Session, name: str) -> PanelSession:
    """Return a session whose scores may be judged: closed or revealed.

    Raises
    ------
    WrongState
        It is still open (or earlier): until it closes nobody may steer it by its figures.
    """
    session = find_session(db, name)
    if session.status not in {SessionStatus.CLOSED, SessionStatus.REVEALED}:
        raise WrongState(
            f"Session {name} is {session.status.value}: its agreement is shown once it is closed, "
            f"so that nobody can steer it. `oakpanel session show {name}` tells how far it is."
        )
    return session


def recent_sessions(db: Session, name: str, count: int = 5) -> list[str]:
    """Return the last *count* revealed sessions up to and with *name*, oldest first.

    Duplicates and references pool over these; sessions of own words share no descriptor with them.
    """
    session = find_session(db, name)
    revealed = PanelSession.status == SessionStatus.REVEALED
    query = select(PanelSession.name).where(revealed, PanelSession.own_words.is_(False))
    if session.held_on is not None:
        query = query.where(PanelSession.held_on <= session.held_on)
    query = query.order_by(PanelSession.held_on.desc(), PanelSession.id.desc()).limit(count)
    return list(reversed(db.scalars(query).all()))


def scores_frame(
    db: Session,
    *,
    sessions: Sequence[str] | None = None,
    as_of: date | None = None,
    revealed_only: bool = False,
) -> pd.DataFrame:
    """Return the scores frame: one row a score, of the sessions named or of all that are finished.

    Parameters
    ----------
    sessions
        Names; None takes every closed or revealed session.
    as_of
        Leaves out sessions held later.
    revealed_only
        Leaves out closed sessions, whose samples are codes.
    """
    import pandas as pd

    which = _which(sessions, as_of)
    known = db.execute(_known_scores(which)).all()
    coded = [] if revealed_only else db.execute(_coded_scores(which)).all()
    frame = pd.DataFrame([*known, *coded], columns=[*SCORE_COLUMNS, "filling_id"])
    frame["age_years"] = _ages(db, frame)
    _name_versions(db, frame)
    for column in ("held_on", "drawn_on"):
        frame[column] = pd.to_datetime(frame[column])
    return frame.drop(columns="filling_id")


def _which(sessions: Sequence[str] | None, as_of: date | None) -> list[ColumnElement[bool]]:
    finished = PanelSession.status.in_([SessionStatus.CLOSED, SessionStatus.REVEALED])
    conditions: list[ColumnElement[bool]] = [finished]
    if sessions is not None:
        conditions.append(PanelSession.name.in_(sessions))
    if as_of is not None:
        conditions.append(or_(PanelSession.held_on.is_(None), PanelSession.held_on <= as_of))
    return conditions


def _status() -> ColumnElement[Any]:
    from sqlalchemy import String, case, cast

    knew = and_(SessionAssessor.knew_key, Serving.status == ServingStatus.KEPT)
    return case((knew, KNEW_KEY), else_=cast(Serving.status, String))


def _joined(query: Any) -> Any:
    return (
        query.select_from(Score)
        .join(Serving, Serving.id == Score.serving_id)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Person, Person.id == Serving.person_id)
        .join(DescriptorVersion, DescriptorVersion.id == Score.descriptor_version_id)
        .join(Descriptor, Descriptor.id == DescriptorVersion.descriptor_id)
        .join(
            SessionDescriptor,
            and_(
                SessionDescriptor.session_id == PanelSession.id,
                SessionDescriptor.descriptor_version_id == DescriptorVersion.id,
            ),
        )
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


def _line() -> tuple[Any, ...]:
    return (
        *(Descriptor.name, DescriptorVersion.version, Score.value),
        *(SessionDescriptor.scale_low, SessionDescriptor.scale_high, _status()),
    )


def _known_scores(which: list[ColumnElement[bool]]) -> Any:
    from sqlalchemy import null

    query = _joined(
        select(
            *(PanelSession.name, Serving.flight, PanelSession.held_on, Person.code),
            *(Draw.label, Draw.label, Filling.label, Cask.number, KeyRow.kind, Draw.batch),
            *(Draw.drawn_on, null(), KeyRow.replicate, _order_taken(), *_line()),
            Filling.id,
        )
    )
    behind = and_(
        KeyRow.session_id == PanelSession.id,
        KeyRow.code == Serving.code,
        or_(KeyRow.tray == "", KeyRow.tray == Person.code),
    )
    return (
        query.join(KeyRow, behind)
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .where(PanelSession.status == SessionStatus.REVEALED, *which)
        .order_by(PanelSession.held_on, PanelSession.id, Serving.id, SessionDescriptor.place)
    )


def _coded_scores(which: list[ColumnElement[bool]]) -> Any:
    from sqlalchemy import case, literal, null

    kind = case((Serving.warm_up, GlassKind.WARM_UP.value), else_=GlassKind.TEST.value)
    query = select(
        *(PanelSession.name, Serving.flight, PanelSession.held_on, Person.code, Serving.code),
        *(null(), null(), null(), kind, null(), null(), null(), literal(1)),
        *(_order_taken(), *_line(), null()),
    )
    return (
        _joined(query)
        .where(PanelSession.status == SessionStatus.CLOSED, *which)
        .order_by(PanelSession.id, Serving.id, SessionDescriptor.place)
    )


def _ages(db: Session, frame: pd.DataFrame) -> list[float | None]:
    needed = frame["filling_id"].notna() & frame["drawn_on"].notna()
    if not needed.any():
        return [None] * len(frame)
    states = {state.filling_id: state for state in filling_states(db, date.max.replace(year=9998))}
    ages: dict[tuple[int, date], float] = {}
    found: list[float | None] = []
    for filling_id, drawn_on, wanted in zip(
        frame["filling_id"], frame["drawn_on"], needed, strict=True
    ):
        if not wanted:
            found.append(None)
            continue
        pair = (int(filling_id), drawn_on)
        if pair not in ages:
            state = states[pair[0]]
            ages[pair] = state.years_before + calendar_years(state.filled_on, drawn_on)
        found.append(ages[pair])
    return found


def _name_versions(db: Session, frame: pd.DataFrame) -> None:
    """Give versions that must not be pooled names of their own; the newest keeps the plain one."""
    names: dict[tuple[str, int], str] = {}
    for descriptor in db.scalars(select(Descriptor)):
        label = descriptor.name
        for version in reversed(descriptor.versions):
            names[descriptor.name, version.version] = label
            if not version.pools_with_previous:
                label = f"{descriptor.name} (up to version {version.version - 1})"
    pairs = zip(frame["descriptor"], frame["descriptor_version"], strict=True)
    frame["descriptor"] = [names[pair] for pair in pairs]


def casks_frame(db: Session, as_of: date) -> pd.DataFrame:
    """Return the casks frame: one row a filling begun by *as_of*, as it is on that date."""
    import pandas as pd

    rows = [_cask_row(state) for state in filling_states(db, as_of)]
    return pd.DataFrame(rows, columns=list(CASK_COLUMNS))


def _cask_row(state: FillingState) -> tuple[Any, ...]:
    return (
        *(state.cask, state.label, state.wood, state.previous, state.fill_number),
        *(state.size_l, state.age_years, state.phenol_ppm, state.fill_abv, state.abv),
        *(state.bulk_l, state.lpa, state.make, state.place.site, state.place.warehouse),
        state.status,
    )


def stock_frame(db: Session, as_of: date, *, besides_release: str | None = None) -> pd.DataFrame:
    """Return the casks frame with what a vatting must know beside it.

    `owner`, `hold_reason`, `reserved_l` (litres promised to releases, all of a cask that is
    reserved as a whole), `gauge_age_years`, `row`, `tier`. A release that is named in
    `besides_release` may use what it has reserved itself.
    """
    import pandas as pd

    rows = [
        (
            *_cask_row(state),
            *(state.owner, state.hold_reason),
            state.bulk_l if state.reserved_whole else state.reserved_l,
            *(state.gauge_age_years, state.place.row, state.place.tier),
        )
        for state in filling_states(db, as_of, besides_release=besides_release)
    ]
    beside = ("owner", "hold_reason", "reserved_l", "gauge_age_years", "row", "tier")
    return pd.DataFrame(rows, columns=[*CASK_COLUMNS, *beside])


def target_of(db: Session, name: str) -> Aim:
    """Return a stored target as the analysis takes it.

    Raises
    ------
    UnknownRecord
        There is no target of that name.
    """
    from analysis.target import Target as Aim
    from analysis.target import TargetLine as AimLine

    stored = db.scalar(select(Target).where(Target.name == name))
    if stored is None:
        names = db.scalars(select(Target.name)).all()
        hint = f" There are: {', '.join(names)}." if names else " None are loaded yet."
        raise UnknownRecord(f"There is no target {name!r}.{hint}")
    lines = tuple(
        AimLine(line.descriptor.name, line.aim, line.tolerance, line.weight)
        for line in stored.lines
    )
    return Aim(stored.name, lines)

"""The only bridge from the store to the analysis: the two tidy frames and a target.

The columns of both frames are described in `analysis`. A session that is not revealed gives its
codes as samples and nothing about the draws behind them.
"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord, WrongState
from panel.own_words_frame import OWN_WORD_COLUMNS, own_words_frame
from panel.score_frame import SCORE_COLUMNS, scores_frame
from panel.store.filling_states import FillingState, filling_states
from panel.store.finding import find_session
from panel.store.sessions import (
    PanelSession,
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

CASK_COLUMNS = (
    *("cask", "filling", "wood", "previous", "fill_number", "size_l", "age_years"),
    *("phenol_ppm", "fill_abv", "abv", "bulk_l", "lpa", "make", "site", "warehouse", "status"),
)


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

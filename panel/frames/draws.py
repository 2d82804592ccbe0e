"""Draws and fillings with what is known of them: the frames that influences and ageing take.

Part of the bridge from the store to the analysis, beside `panel.frames`; the columns are
described in `analysis.influences.covariates`.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.kinds import EventKind, SessionStatus
from panel.store.ages import calendar_years
from panel.store.casks import Filling, FillingEvent, standing
from panel.store.draws import Draw
from panel.store.filling_states import FillingState, filling_states
from panel.store.key import KeyRow
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    import pandas as pd

DRAW_COLUMNS = (
    *("sample", "cask", "filling", "drawn_on", "age_years", "years_before", "wood", "previous"),
    *("fill_number", "size_l", "phenol_ppm", "fill_abv", "make", "batch", "warehouse"),
)
Moves = dict[int, list[tuple[date, str]]]


def draws_frame(db: Session, as_of: date) -> pd.DataFrame:
    """Return one row a draw from a cask by *as_of*: the filling as it was when it was drawn.

    For a draw without a day it is as it was on the day the draw was nosed last: the same that
    notes are moved from (`analysis.ageing`); `drawn_on` stays missing.
    `batch` is make and year of filling; `warehouse` is where the cask lay on the day.
    """
    import pandas as pd

    states = {state.filling_id: state for state in filling_states(db, as_of)}
    moves = _moves(db)
    query = (
        select(Draw.label, Draw.filling_id, Draw.drawn_on, Filling.warehouse)
        .join(Filling, Filling.id == Draw.filling_id)
        .order_by(Draw.id)
    )
    nosed = nosed_on(db, as_of)
    rows = [
        _row(
            states[filling_id],
            sample,
            drawn_on,
            day := drawn_on or nosed.get(sample),
            _lay_in(first, moves[filling_id], day),
        )
        for sample, filling_id, drawn_on, first in db.execute(query)
        if filling_id in states and (drawn_on is None or drawn_on <= as_of)
    ]
    frame = pd.DataFrame(rows, columns=list(DRAW_COLUMNS))
    frame["drawn_on"] = pd.to_datetime(frame["drawn_on"])
    return frame


def present_frame(db: Session, as_of: date, *, on: date | None = None) -> pd.DataFrame:
    """Return one row a filling that is in its cask on *as_of*, in the columns of a draw.

    `sample` is the filling itself, `age_years` its age on the day *on*, else on *as_of*.
    """
    import pandas as pd

    rows = [
        _row(state, state.label, None, on or as_of, state.place.warehouse)
        for state in filling_states(db, as_of)
        if state.emptied_on is None
    ]
    frame = pd.DataFrame(rows, columns=list(DRAW_COLUMNS))
    frame["drawn_on"] = pd.to_datetime(frame["drawn_on"])
    return frame


def parents_frame(db: Session, as_of: date, *, on: date | None = None) -> pd.DataFrame:
    """Return one row a parent of every re-racked filling that is in its cask on *as_of*.

    `lpa` is the pure alcohol it gave, `years_since` the time in the new wood by the day
    *on*, else by *as_of*.
    """
    import pandas as pd

    states = {state.filling_id: state for state in filling_states(db, as_of)}
    rows = [
        (
            *(state.label, states[share.filling_id].label, share.lpa),
            calendar_years(state.filled_on, on or as_of),
        )
        for state in states.values()
        if state.emptied_on is None and state.topped_on is None
        for share in state.racked_from
        if share.filling_id in states
    ]
    return pd.DataFrame(rows, columns=["filling", "parent", "lpa", "years_since"])


def _row(
    state: FillingState,
    sample: str,
    drawn_on: date | None,
    day: date | None,
    warehouse: str | None,
) -> tuple[object, ...]:
    batch = f"{state.make} {state.filled_on.year}" if state.make else None
    spirit, on = state.inherited, day or state.filled_on
    age = None if day is None else spirit.age_on(day)
    return (
        *(sample, state.cask, state.label, drawn_on, age, spirit.years_elsewhere(on)),
        *(state.wood, state.previous, state.fill_number, state.size_l, spirit.phenols_on(on)),
        *(state.fill_abv, state.make, batch, warehouse),
    )


def nosed_on(db: Session, as_of: date) -> dict[str, date]:
    """When each draw without a day was nosed last, in a session that is revealed."""
    query = (
        select(Draw.label, func.max(PanelSession.held_on))
        .join(KeyRow, KeyRow.draw_id == Draw.id)
        .join(PanelSession, PanelSession.id == KeyRow.session_id)
        .where(
            Draw.drawn_on.is_(None),
            PanelSession.status == SessionStatus.REVEALED,
            PanelSession.held_on <= as_of,
        )
        .group_by(Draw.label)
    )
    return {label: on for label, on in db.execute(query) if on is not None}


def _moves(db: Session) -> Moves:
    query = (
        select(FillingEvent.filling_id, FillingEvent.happened_on, FillingEvent.warehouse)
        .where(FillingEvent.kind == EventKind.MOVED, FillingEvent.warehouse.is_not(None))
        .where(standing())
        .order_by(FillingEvent.happened_on, FillingEvent.id)
    )
    found: Moves = defaultdict(list)
    for filling_id, on, warehouse in db.execute(query):
        found[filling_id].append((on, str(warehouse)))
    return found


def _lay_in(first: str | None, moves: list[tuple[date, str]], on: date | None) -> str | None:
    earlier = [warehouse for day, warehouse in moves if on is None or day <= on]
    return earlier[-1] if earlier else first

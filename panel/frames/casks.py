"""The casks frame: one row a filling, as it is on a date, with all that bars its use."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from analysis.bars import BarRules, status_of
from panel.frames.bars import bar_rules, state_bars
from panel.store.filling_states import FillingState, filling_states

if TYPE_CHECKING:
    import pandas as pd

CASK_COLUMNS = (
    *("cask", "filling", "wood", "previous", "fill_number", "size_l", "age_years"),
    *("phenol_ppm", "fill_abv", "abv", "bulk_l", "lpa", "make", "site", "warehouse", "status"),
    "bars",
)


def casks_frame(db: Session, as_of: date) -> pd.DataFrame:
    """Return the casks frame: one row a filling begun by *as_of*, as it is on that date.

    `bars` holds all that the records hold against using the filling (`analysis.bars`).
    """
    import pandas as pd

    rules = bar_rules(db)
    rows = [_cask_row(state, rules) for state in filling_states(db, as_of)]
    return pd.DataFrame(rows, columns=list(CASK_COLUMNS))


def _cask_row(state: FillingState, rules: BarRules, on: date | None = None) -> tuple[Any, ...]:
    bars = state_bars(state, rules)
    age_years = state.age_years
    if on is not None and state.emptied_on is None:
        age_years = state.inherited.age_on(on)
    return (
        *(state.cask, state.label, state.wood, state.previous, state.fill_number),
        *(state.size_l, age_years, state.phenol_ppm, state.fill_abv),
        *(
            (state.abv, state.bulk_l, state.lpa)
            if state.abv_certain
            else (None, state.bulk_l, None)
        ),
        *(state.make, state.place.site, state.place.warehouse),
        *(status_of(bars).value, bars),
    )


def stock_frame(
    db: Session, as_of: date, *, besides_release: str | None = None, on: date | None = None
) -> pd.DataFrame:
    """Return the casks frame with what a vatting must know beside it.

    `owner`, `hold_reason`, `reserved_l` (litres promised to releases, all of a cask that is
    reserved as a whole), `gauge_age_years`, `row`, `tier`. A release that is named in
    `besides_release` may use what it has reserved itself. Ages are those of the day *on*, else of
    *as_of*.
    """
    import pandas as pd

    rules = bar_rules(db)
    rows = [
        (
            *_cask_row(state, rules, on),
            *(state.owner, state.hold_reason),
            state.bulk_l if state.reserved_whole else state.reserved_l,
            *(state.gauge_age_years, state.place.row, state.place.tier),
        )
        for state in filling_states(db, as_of, besides_release=besides_release)
    ]
    beside = ("owner", "hold_reason", "reserved_l", "gauge_age_years", "row", "tier")
    return pd.DataFrame(rows, columns=[*CASK_COLUMNS, *beside])

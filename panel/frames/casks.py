"""The casks frame: one row a filling, as it is on a date, with all that bars its use."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from sqlalchemy.orm import Session

from analysis.bars import Bars, status_of
from panel.frames.bars import bar_rules, state_bars
from panel.frames.contents import contents_of, dry_stores, weak_from
from panel.store.filling_states import FillingState, filling_states

if TYPE_CHECKING:
    import pandas as pd

    from analysis.strength.content import Contents

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
    rows = [_cask_row(state, state_bars(state, rules)) for state in filling_states(db, as_of)]
    return pd.DataFrame(rows, columns=list(CASK_COLUMNS))


def _cask_row(state: FillingState, bars: Bars) -> tuple[Any, ...]:
    return (
        *(state.cask, state.label, state.wood, state.previous, state.fill_number),
        *(state.size_l, state.age_years, state.phenol_ppm, state.fill_abv),
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
    """Return the casks frame with what a vatting must know beside it, moved to the day *on*.

    `owner`, `hold_reason`, `reserved_l` (litres promised to releases, all of a cask that is
    reserved as a whole), `gauge_age_years` (on *as_of*), `row`, `tier`. A release that is named
    in `besides_release` may use what it has reserved itself.

    Ages, litres and strength are those of the day *on*, else of *as_of*. `gauge_l` and
    `gauge_abv` are the last gauge less what was taken since; the ends `bulk_low`, `bulk_high`,
    `abv_low` and `abv_high` hold 90 times in 100; `bulk_error`, `bulk_shared`, `abv_error` and
    `abv_shared` are relative standard deviations, the shared ones common to all casks.
    """
    import pandas as pd

    rules, day = bar_rules(db), on or as_of
    every = filling_states(db, as_of, besides_release=besides_release)
    states = [state for state in every if state.emptied_on is None]
    contents = contents_of(states, day, dry_stores=dry_stores(db))
    weak = weak_from(states, contents, rules.legal_abv_percent)
    bars = [
        state_bars(state, rules, weak_from=falls, used_on=day)
        for state, falls in zip(states, weak, strict=True)
    ]
    rows = [
        (
            *_cask_row(state, against),
            *(state.owner, state.hold_reason),
            state.bulk_l if state.reserved_whole else state.reserved_l,
            *(state.gauge_age_years, state.place.row, state.place.tier),
        )
        for state, against in zip(states, bars, strict=True)
    ]
    beside = ("owner", "hold_reason", "reserved_l", "gauge_age_years", "row", "tier")
    frame = pd.DataFrame(rows, columns=[*CASK_COLUMNS, *beside])
    return _moved(frame, states, contents, day)


def _moved(
    frame: pd.DataFrame, states: list[FillingState], contents: Contents, day: date
) -> pd.DataFrame:
    """Put the figures of the day in the place of those of the last gauge."""
    ages = [state.inherited.age_on(day) for state in states]
    bulk, abv = contents.litres_between(), contents.abv_between()
    moved = frame.assign(
        gauge_l=frame["bulk_l"],
        gauge_abv=frame["abv"],
        age_years=[float("nan") if age is None else age for age in ages],
        bulk_l=contents.litres,
        bulk_low=bulk[0],
        bulk_high=bulk[1],
        bulk_error=contents.litres_own_sd,
        bulk_shared=contents.litres_shared_sd,
        abv=contents.abv_percent,
        abv_low=abv[0],
        abv_high=abv[1],
        abv_error=contents.abv_own_sd,
        abv_shared=contents.abv_shared_sd,
        lpa=contents.litres * contents.abv_percent / 100.0,
    )
    unsure = [not state.abv_certain for state in states]
    moved.loc[unsure, ["abv", "abv_low", "abv_high", "lpa"]] = float("nan")
    return moved

"""The questions of the house put to the records: one function each, for screens and commands."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from panel.questions.profile import house_profile
from panel.store.filling_states import FillingState, filling_states

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Asked
    from analysis.profile import Profile
    from analysis.target import LeftOut, Match


def target_match(
    db: Session,
    target: str,
    *,
    as_of: date,
    top: int | None = None,
    with_held: bool = False,
    seed: int = 1,
    profile: Profile | None = None,
) -> Match:
    """Return which casks suit a target, best first.

    Casks that are empty are left out; so are those on hold, reserved as a whole or of another
    owner, unless `with_held`: nobody uses them unasked. All that is left out is listed with its
    reason.
    """
    from analysis.target import match_casks
    from panel.frames import casks_frame, target_of

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    states = {state.label: state for state in filling_states(db, as_of)}
    barred = {} if with_held else {label: why for label, s in states.items() if (why := _barred(s))}
    nosed = known.estimates
    usable = replace(known, estimates=nosed[~nosed["filling"].isin(list(barred))])
    casks = casks_frame(db, as_of)
    found = match_casks(usable, aim, casks=casks[casks["status"] != "emptied"], top=top, seed=seed)
    held = _left_out(nosed[nosed["filling"].isin(list(barred))], barred)
    return replace(found, left_out=(*found.left_out, *held))


def ageing_of(
    db: Session,
    *,
    as_of: date,
    asked: Asked | None = None,
    targets: Sequence[str] = (),
    seed: int = 1,
    profile: Profile | None = None,
) -> Ageing:
    """Return how styles or casks develop, and when casks meet the targets named.

    A cask on hold, reserved as a whole or of another owner is left out with its reason unless
    it is asked for by number.
    """
    from analysis.ageing import Asked, estimate_ageing
    from panel.frames import target_of
    from panel.frames.draws import draws_frame, present_frame

    wanted = asked or Asked()
    aims = [target_of(db, name) for name in targets]
    known = profile or house_profile(db, as_of=as_of)
    stock = present_frame(db, as_of)
    barred = {} if wanted.casks else _barred_fillings(db, as_of)
    found = estimate_ageing(
        known,
        draws_frame(db, as_of),
        stock=stock[~stock["filling"].isin(list(barred))],
        as_of=as_of,
        targets=aims,
        asked=wanted,
        seed=seed,
    )
    held = {f"cask {cask}": why for cask, why in barred.values()} if aims else {}
    return replace(found, left_out={**found.left_out, **held})


def _barred_fillings(db: Session, as_of: date) -> dict[str, tuple[str, str]]:
    """Number of the cask and reason, for every filling that nobody may use unasked."""
    return {
        state.label: (state.cask, why)
        for state in filling_states(db, as_of)
        if (why := _barred(state)) is not None
    }


def _barred(state: FillingState) -> str | None:
    if state.emptied_on is not None:
        return None
    if state.owner is not None:
        return f"belongs to {state.owner}: not to be used unasked"
    if state.hold_reason is not None:
        return f"on hold: {state.hold_reason}"
    if state.reserved_whole:
        return "reserved as a whole"
    if state.promised and (state.reserved_l or 0.0) >= state.bulk_l:
        return f"reserved for release {', '.join(name for name, _ in state.promised)}"
    return None


def _left_out(rows: pd.DataFrame, barred: dict[str, str]) -> list[LeftOut]:
    from analysis.target import LeftOut

    frame = rows.drop_duplicates("filling", keep="last")
    return [
        LeftOut(cask=str(row.cask), sample=str(row.sample), reason=barred[str(row.filling)])
        for row in frame.itertuples()
    ]

"""Which casks suit a target."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from analysis.bars import HELD, NOTHING_AGREED, Allowed, Bar
from panel.questions.barred import barred_fillings, held_against
from panel.questions.stock import day_of, notes_on

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.ageing import NotesOnDay
    from analysis.profile import Profile
    from analysis.target import CaskMatch, LeftOut, Match, Target

WITH_HELD = Allowed(bars=HELD | {Bar.RESERVED})


def target_match(
    db: Session,
    target: str,
    *,
    as_of: date,
    bottling_on: date | None = None,
    top: int | None = None,
    with_held: bool = False,
    seed: int = 1,
    profile: Profile | None = None,
) -> Match:
    """Return which casks suit a target, best first, as they will be on the day of bottling.

    Without such a day it is that of the question (`panel.questions.stock`).
    Casks that are empty are left out; so are those leaking, on hold, reserved as a whole or of
    another owner, unless `with_held`: nobody uses them unasked. All that is left out is listed
    with every reason.
    """
    from analysis.profile.latest import in_cask
    from analysis.target import match_casks
    from panel.frames import stock_frame, target_of
    from panel.questions.profile import house_profile

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    day = day_of(as_of, bottling_on)
    casks = in_cask(stock_frame(db, as_of, on=day))
    barred = barred_fillings(casks, WITH_HELD if with_held else NOTHING_AGREED)
    notes = notes_on(
        db,
        as_of=as_of,
        profile=known,
        descriptors=[line.descriptor for line in aim.lines],
        day=day,
    )
    nosed = notes.profile.estimates
    usable = replace(notes.profile, estimates=nosed[~nosed["filling"].isin(list(barred))])
    found = match_casks(usable, aim, casks=casks, top=top, seed=seed)
    held = _left_out(nosed[nosed["filling"].isin(list(barred))], barred)
    return replace(
        found,
        stock_on=notes.day,
        casks=tuple(_with_moves(found.casks, notes, aim, held_against(casks))),
        left_out=(*found.left_out, *held),
    )


def _with_moves(
    casks: Sequence[CaskMatch], notes: NotesOnDay, target: Target, against: Mapping[str, str]
) -> Iterator[CaskMatch]:
    """Say how the notes of each cask came to the day, whether its chance hangs on that, and what
    its records hold against it.
    """
    fillings = [str(part.filling) for part in casks if part.filling in notes.moved]
    hangs = dict(zip(fillings, notes.deciding(target, fillings), strict=True)) if fillings else {}
    for cask in casks:
        part = replace(cask, held_against=against.get(cask.filling or ""))
        moved = notes.moved.get(part.filling or "")
        if moved is None:
            yield part
            continue
        yield replace(
            part,
            drawn_on=moved.drawn_on,
            years_moved=moved.years,
            moved=moved.cover.value,
            decides=bool(hangs[str(part.filling)]),
        )


def _left_out(rows: pd.DataFrame, barred: dict[str, tuple[str, str]]) -> list[LeftOut]:
    from analysis.profile.latest import latest_draws
    from analysis.target import LeftOut

    return [
        LeftOut(cask=str(row.cask), sample=str(row.sample), reason=barred[str(row.filling)][1])
        for row in latest_draws(rows).itertuples()
    ]

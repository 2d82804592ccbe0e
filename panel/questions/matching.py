"""Which casks suit a target."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panel.questions.stock import day_of, notes_on, with_undated

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import Match


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

    Without such a day it is that of the question (`panel.questions.stock`). What may not be used
    unasked is left out and listed, see :func:`analysis.on_stock.match_stock`.
    """
    from panel.frames import target_of
    from panel.kept.answers import kept_answer
    from panel.kept.stock_records import stock_state
    from panel.questions.profile import house_profile

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    day = day_of(as_of, bottling_on)

    def reckoned() -> Match:
        from analysis.on_stock import match_stock
        from panel.kept.stock import stock_frame

        names = [line.descriptor for line in aim.lines]
        notes = notes_on(db, as_of=as_of, profile=known, descriptors=names, day=day)
        casks = stock_frame(db, as_of, on=day)
        found = match_stock(aim, casks, notes, top=top, with_held=with_held, seed=seed)
        drawn = [part.sample for part in found.casks]
        return replace(found, note=with_undated(found.note, known, drawn))

    return kept_answer(
        db,
        "match",
        options=[as_of, day, repr(aim), top, with_held, seed],
        reads=lambda: stock_state(db, as_of),
        reckon=reckoned,
        profile=known,
    )

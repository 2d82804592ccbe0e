"""The stock as of a day: what every answer about casks is reckoned from.

Nothing that decides may mix a draw or a gauge of years ago with the age of today. So match,
vatting, ageing, proposals and blending by hand all ask here, with one day: that of bottling
where one is asked for, else the day of the question.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.ageing import NotesOnDay
    from analysis.profile import Profile


def day_of(as_of: date, bottling_on: date | None) -> date:
    """Return the day that stock is moved to: that of bottling, never one that is past."""
    return as_of if bottling_on is None else max(as_of, bottling_on)


def notes_on(
    db: Session,
    *,
    as_of: date,
    profile: Profile,
    descriptors: Sequence[str] | None = None,
    day: date | None = None,
) -> NotesOnDay:
    """Return what the panel found in each cask, moved to a day by the models of ageing.

    Parameters
    ----------
    as_of
        What is on record by then is known.
    profile
        What was nosed by then.
    descriptors
        Notes to be moved; all by default.
    day
        The day asked for; `as_of` by default.
    """
    from analysis.ageing import notes_on_day
    from panel.frames.draws import draws_frame, present_frame

    on = day or as_of
    return notes_on_day(
        profile,
        draws_frame(db, as_of),
        present_frame(db, as_of, on=on),
        on,
        descriptors=descriptors,
    )

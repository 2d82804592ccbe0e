"""The stock as of a day: what every answer about casks is reckoned from.

Nothing that decides may mix a draw or a gauge of years ago with the age of today. So match,
vatting, ageing, proposals and blending by hand all ask here, with one day: that of bottling
where one is asked for, else the day of the question.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING
from weakref import ref

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.ageing import NotesOnDay
    from analysis.influences import Fits
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
    names = tuple(profile.descriptors if descriptors is None else descriptors)
    found = notes_on_day(
        profile,
        draws_frame(db, as_of),
        present_frame(db, as_of, on=on),
        on,
        descriptors=names,
        fits=_KEPT.of(profile, names),
    )
    _KEPT.keep(profile, names, found.moves.fits)
    return found


class KeptModels:
    """Models of ageing for as long as the profile that they were fitted to is in use.

    A screen keeps its profile while the records stand, and asks of one target again and again.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._profile: ref[Profile] | None = None
        self._models: dict[tuple[str, ...], Fits] = {}

    def of(self, profile: Profile, names: tuple[str, ...]) -> Fits | None:
        """Return the models of some notes; None where they are not known yet."""
        with self._lock:
            same = self._profile is not None and self._profile() is profile
            return self._models.get(names) if same else None

    def keep(self, profile: Profile, names: tuple[str, ...], models: Fits | None) -> None:
        """Keep models; those of another profile go."""
        with self._lock:
            if self._profile is None or self._profile() is not profile:
                self._profile, self._models = ref(profile), {}
            if models is not None:
                self._models[names] = models


_KEPT = KeptModels()

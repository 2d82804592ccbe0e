"""The stock as of a day: what every answer about casks is reckoned from.

Nothing that decides may mix a draw or a gauge of years ago with the age of today. So match,
vatting, ageing, proposals and blending by hand all ask here, with one day: that of bottling
where one is asked for, else the day of the question.
"""

from __future__ import annotations

from threading import Lock
from typing import TYPE_CHECKING
from weakref import ref

from panel.store.log import head_hash

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    import pandas as pd
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
    from panel.kept.searches import kept_search
    from panel.kept.stock import draws_frame, present_frame

    on = day or as_of
    names = tuple(profile.descriptors if descriptors is None else descriptors)
    key = (*names, head_hash(db), as_of.isoformat())
    known = _KEPT.of(profile, key, on)
    if known is not None:
        return known
    found = notes_on_day(
        profile,
        draws_frame(db, as_of),
        present_frame(db, as_of, on=on),
        on,
        descriptors=names,
        fits=_KEPT.models(profile, key),
        search=kept_search(db, profile),
    )
    _KEPT.keep(profile, key, found)
    return found


def with_undated(note: str | None, profile: Profile, samples: Sequence[str]) -> str | None:
    """Return a note with how many of the draws behind an answer have no day on record."""
    from analysis.profile.words import undated

    rows = profile.estimates[profile.estimates["drawn_on"].isna()]
    said = undated(len(set(rows["sample"]) & set(samples)))
    return " ".join(part for part in (note, said) if part) or None


def on_line(estimates: pd.DataFrame) -> pd.DataFrame:
    """Return estimates of a moved profile as scores can be: held to the line."""
    from analysis.house_line import on_the_line

    return estimates.assign(estimate=on_the_line(estimates["estimate"].to_numpy(dtype=float)))


class KeptNotes:
    """Notes as of a day, for as long as the profile that they were moved from is in use.

    A screen keeps its profile while the records stand, and asks of one target again and again.
    """

    def __init__(self) -> None:
        self._lock = Lock()
        self._profile: ref[Profile] | None = None
        self._found: dict[tuple[str, ...], NotesOnDay] = {}

    def of(self, profile: Profile, key: tuple[str, ...], day: date) -> NotesOnDay | None:
        """Return some notes on a day; None where they are not known yet."""
        found = self._last(profile, key)
        return found if found is not None and found.day == day else None

    def models(self, profile: Profile, key: tuple[str, ...]) -> Fits | None:
        """Return the models of some notes; None where they are not known yet."""
        found = self._last(profile, key)
        return None if found is None else found.moves.fits

    def keep(self, profile: Profile, key: tuple[str, ...], found: NotesOnDay) -> None:
        """Keep notes; those of another profile go."""
        with self._lock:
            if self._profile is None or self._profile() is not profile:
                self._profile, self._found = ref(profile), {}
            self._found[key] = found

    def _last(self, profile: Profile, key: tuple[str, ...]) -> NotesOnDay | None:
        with self._lock:
            same = self._profile is not None and self._profile() is profile
            return self._found.get(key) if same else None


_KEPT = KeptNotes()

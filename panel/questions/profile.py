"""What each sample is, over all revealed sessions."""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import date
from functools import partial
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile


WORTH_A_START = 150_000
"""Scores from which a fit takes seconds, so that one begins where the last one ended."""


def house_profile(db: Session, *, as_of: date, start: Profile | None = None) -> Profile:
    """Return what each sample is, over all revealed sessions held by *as_of*.

    The one door to it: what a command before has reckoned from the same records is read (see
    `panel.kept`), else it is reckoned and kept. `start` is an earlier profile that the fit may
    begin from; a large house begins from the last one kept, for it ends at the same from any.
    """
    from panel.kept.answers import note_fit
    from panel.kept.keeping import Kept, kept_or_reckoned
    from panel.kept.keys import key_at_head, key_by_records
    from panel.store.kept_files import FIT

    asked = Kept(
        kind=FIT,
        at_head=lambda: key_at_head(db, as_of),
        by_records=lambda: key_by_records(db, as_of),
        reckon=lambda: reckoned_profile(db, as_of=as_of, start=start or _last_kept(db)),
        # Of a small house only one that began with the scores alone is everybody's.
        keeps=start is None or is_worth_a_start(start),
    )
    found = kept_or_reckoned(db, asked)
    profile = _of_the_day(db, replace(cast("Profile", found.value), as_of=as_of))
    return note_fit(profile, _key_of(profile, found.key))


def reckoned_profile(db: Session, *, as_of: date, start: Profile | None = None) -> Profile:
    """Reckon what each sample is from the records, whatever is kept.

    The one place where a fit may begin from another: what `start` says is handed on from here.
    """
    from analysis.agreement.sessions.warned_profile import warned_profile
    from panel.frames import scores_frame
    from panel.kept.stock import read_ahead
    from panel.questions.sessions import nosed_by

    scores = scores_frame(db, as_of=as_of, revealed_only=True)
    ahead = partial(read_ahead, db, as_of)
    with nosed_by(db, as_of):
        return warned_profile(scores, as_of=as_of, start=start, meanwhile=ahead)


def is_worth_a_start(profile: Profile) -> bool:
    """Whether a fit may begin from this one: it is large, and then ends at the same."""
    return profile.n_scores >= WORTH_A_START


def _last_kept(db: Session) -> Profile | None:
    """Return the large fit that was used last, of whatever records."""
    from panel.kept.keeping import read_kept, shelf_of
    from panel.store.kept_files import FIT

    shelf = shelf_of(db)
    for key in [] if shelf is None else shelf.keys(FIT)[:1]:
        found = None if shelf is None else read_kept(shelf, FIT, key)
        profile: Profile | None = None if found is None else found[0]
        if profile is not None and is_worth_a_start(profile):
            return profile
    return None


def _of_the_day(db: Session, profile: Profile) -> Profile:
    """Put first the part that is compared: it hangs on what may be used, which no fit reads."""
    from analysis.on_stock.barred import usable_fillings
    from analysis.profile.compared import compared_first
    from panel.kept.stock import stock_frame

    if profile.as_of is None or (
        profile.compared is None and not (profile.estimates["component"] > 0).any()
    ):
        return profile
    return compared_first(profile, usable_fillings(stock_frame(db, profile.as_of)))


def _key_of(profile: Profile, key: str | None) -> str | None:
    """Return the key of a profile for the answers that are reckoned from it."""
    from panel.kept.keys import digest_of

    if key is None or profile.compared is None:
        return key
    return digest_of([key, asdict(profile.compared)])

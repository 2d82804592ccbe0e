"""Whether what is kept of the fit is what the records give: each fit that holds, made anew."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kept.keeping import found_at_head, read_kept, shelf_of
from panel.kept.keys import key_at_head, key_by_records
from panel.store.findings import Finding, Level
from panel.store.kept_files import FIT, Shelf

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile

MOST_STANDARD_ERRORS = 0.1
MOST_OF_AN_ERROR = 0.02
LEAST_ERROR = 1e-6
ABOUT = "kept fits"
EDITED = (
    "A kept fit is of other records than there are, and the log tells of no change: they were "
    "edited past the program. The fit was deleted."
)


def check_fits(db: Session) -> Iterator[Finding]:
    """Reckon anew each fit that the next command would read, and compare.

    One that differs is no longer kept. It costs as much as the command that kept it.
    """
    held = 0
    for shelf, key, kept, on in _found(db):
        held += 1
        same = key_by_records(db, on) == key
        if (words := _apart(db, kept, on) if same else EDITED) is not None:
            shelf.drop(FIT, key)
            yield Finding(ABOUT, Level.FAULT, words)
            return
    words = "1 fit is" if held == 1 else f"{held} fits are"
    yield Finding(ABOUT, Level.GOOD, f"{words} kept for the next command, and as reckoned anew.")


def _found(db: Session) -> Iterator[tuple[Shelf, str, Profile, date]]:
    """Give the kept fits that the next command would read, by the records or the log's end."""
    shelf = shelf_of(db)
    for key in [] if shelf is None else shelf.keys(FIT):
        found = None if shelf is None else read_kept(shelf, FIT, key)
        kept: Profile | None = None if found is None else found[0]
        if shelf is None or kept is None or (on := kept.as_of) is None:
            continue
        at_head = found_at_head(shelf, key_at_head(db, on))
        if key in {at_head, key_by_records(db, on)}:
            yield shelf, key, kept, on


def _apart(db: Session, kept: Profile, on: date) -> str | None:
    from panel.questions.profile import reckoned_profile

    return told_apart(kept.estimates, reckoned_profile(db, as_of=on).estimates)


def told_apart(kept: pd.DataFrame, anew: pd.DataFrame) -> str | None:
    """Say how far kept estimates are from those reckoned anew; None where they are the same."""
    both = _side_by_side(kept, anew)
    known = both[["estimate", "se"]].notna().to_numpy()
    known_anew = both[["estimate_anew", "se_anew"]].notna().to_numpy()
    if (both["_merge"] != "both").any() or (known != known_anew).any():
        return "A kept fit has estimates of other samples than the records give; it was deleted."
    # What has no standard error has to be the same: it stands as far off as it is.
    error = both["se_anew"].fillna(1.0).clip(lower=LEAST_ERROR)
    moved = ((both["estimate"] - both["estimate_anew"]).abs() / error).max()
    wider = (both["se"] / error - 1.0).abs().max()
    if not (moved > MOST_STANDARD_ERRORS or wider > MOST_OF_AN_ERROR):
        return None
    return (
        "A kept fit differs from the one that the records give: estimates by up to "
        f"{in_digits(moved, '.2f')} standard errors, standard errors by up to "
        f"{in_digits(100 * wider, '.1f')} %. It was "
        "deleted; ask anew what was asked since it was kept."
    )


def _side_by_side(kept: pd.DataFrame, anew: pd.DataFrame) -> pd.DataFrame:
    keys = ["sample", "descriptor"]
    columns = [*keys, "estimate", "se"]
    return kept[columns].merge(
        anew[columns], on=keys, how="outer", suffixes=("", "_anew"), indicator=True
    )

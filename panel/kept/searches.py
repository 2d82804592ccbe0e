"""What the searches behind the models of influences and ageing ended with, kept note by note.

A search hangs on numbers alone, the readings of a note and the draws that they are of. So it is
found by a digest of these, whatever else was asked: another target, other casks, another day.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.kept.answers import is_found
from panel.kept.keeping import kept_by_content, shelf_of
from panel.kept.keys import digest_of
from panel.store.touched import touched_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy.orm import Session

    from analysis.influences.searched import Search, Searched
    from analysis.profile import Profile

KIND = "search"


def kept_search(db: Session, profile: Profile) -> Search:
    """Return what searches in a profile's notes, or finds what was searched before.

    Only in the house's own profile: what is of one command alone is sought by no other.
    """
    from analysis.influences.searched import search_anew

    shelf = shelf_of(db) if is_found(profile) and not touched_of(db) else None
    if shelf is None:
        return search_anew

    def search(digest: str, find: Callable[[], Searched]) -> Searched:
        return kept_by_content(shelf, KIND, digest_of([KIND, digest]), find)

    return search

"""Answers that are reckoned from the house's fit, kept for as long as fit and records stand.

An answer hangs on the fit, on what it reads of the records besides, on the day it is asked for and
on the question's own options. While the log ends where it did, nothing of that is looked at but the
options. Where the log went on, what the answer reads is read, and compared by a digest of it: stock
with its holds, rules and releases, targets, scores of other sessions.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar, cast
from weakref import ref

from sqlalchemy.orm import Session

from panel.kept.form import digest_of_value
from panel.kept.keeping import Kept, kept_or_reckoned
from panel.kept.keys import digest_of, end_of

if TYPE_CHECKING:
    from analysis.profile import Profile

T = TypeVar("T")


class _Fits:
    """Which profiles of this process are the house's own, and by what key they are kept."""

    def __init__(self) -> None:
        self._lock = Lock()
        self._keys: dict[int, tuple[ref[Profile], str]] = {}

    def note(self, profile: Profile, key: str) -> None:
        with self._lock:
            self._keys = {n: held for n, held in self._keys.items() if held[0]() is not None}
            self._keys[id(profile)] = (ref(profile), key)

    def key(self, profile: Profile) -> str | None:
        with self._lock:
            held = self._keys.get(id(profile))
        return held[1] if held is not None and held[0]() is profile else None


_FITS = _Fits()


def note_fit(profile: Profile, key: str | None) -> Profile:
    """Remember under which key a profile is found, and return it."""
    if key is not None:
        _FITS.note(profile, key)
    return profile


def is_found(profile: Profile) -> bool:
    """Say whether a profile is the house's own, which others find too."""
    return _FITS.key(profile) is not None


def kept_answer(
    db: Session,
    kind: str,
    *,
    options: object,
    reads: Callable[[], object],
    reckon: Callable[[], T],
    profile: Profile | None = None,
    keeps: bool = True,
) -> T:
    """Return an answer from what is kept, or reckon and keep it.

    Parameters
    ----------
    options
        The day, and all that was asked for: plain values.
    reads
        Gives all else that it is reckoned from but the profile; asked only where it has to be.
    profile
        What it is reckoned from. One that is not found by others makes no answer that is kept.
    keeps
        Whether it may be kept at all: never what is of a session that is not revealed.
    """
    fit = None if profile is None else _FITS.key(profile)
    if not keeps or (profile is not None and fit is None):
        return reckon()
    asked = Kept(
        kind=kind,
        at_head=lambda: digest_of([kind, fit, asdict(end_of(db)), options]),
        by_records=lambda: digest_of([kind, fit, digest_of_value(reads()), options]),
        reckon=reckon,
    )
    return cast("T", kept_or_reckoned(db, asked).value)


def once(make: Callable[[], T]) -> Callable[[], T]:
    """Return what makes a value when it is first asked for, and has it from then on."""
    made: list[Any] = []

    def value() -> T:
        if not made:
            made.append(make())
        return cast("T", made[0])

    return value

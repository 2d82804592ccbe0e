"""Erasing somebody and then the old text from the file: one deed to whoever asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.records.erase import Erasure, erase_person
from panel.records.traces import touched_tables
from panel.store.erasing import marked, need_room, overwrite

if TYPE_CHECKING:
    from datetime import datetime

    from panel.store.engine import Store
    from panel.store.erasing import Overwriting, Told


def erase_and_overwrite(
    store: Store, code: str, *, keep_scores: bool, now: datetime, by: str | None, tell: Told
) -> tuple[Erasure, Overwriting]:
    """Erase a person, and overwrite what was erased; *tell* is called where others are waited for.

    Raises
    ------
    UnknownRecord, NotAllowed
        As `erase_person`; nothing was erased then.
    StoreError
        There is no room, or the database may only be read.
    """
    need_room(store)
    with marked(store, now), store.write() as db:
        gone = erase_person(db, code, keep_scores=keep_scores, now=now, by=by)
    return gone, finish(store, tell)


def forget(store: Store, tell: Told) -> Overwriting:
    """Overwrite what an erasure left that others held up.

    Raises
    ------
    StoreError
        There is no room, or the database may only be read.
    """
    need_room(store)
    return finish(store, tell)


def finish(store: Store, tell: Told) -> Overwriting:
    """Overwrite what was erased in every table that it may have stood in."""
    return overwrite(store, touched_tables(), tell=tell)

"""Who made a remark, forgotten and overwritten: one deed to whoever asks for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.records.forgetting import finish
from panel.release.lot_bottles import RemarkClosed, close_remark, find_remark, forget_who
from panel.store.erasing import marked, need_room

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import datetime

    from panel.release.name_places import NamePlace
    from panel.store.engine import Store
    from panel.store.erasing import Overwriting, Told


def forget_and_overwrite(
    store: Store,
    number: int,
    *,
    name: str | None = None,
    also: Collection[int] | None = None,
    shown: Sequence[NamePlace] | None = None,
    now: datetime,
    by: str | None,
    tell: Told,
) -> tuple[RemarkClosed, Overwriting]:
    """Delete who made a remark, and overwrite it; *tell* is called where others are waited for.

    Raises
    ------
    UnknownRecord, NotAllowed, PlacesOpen
        As `forget_who`; nothing was deleted then.
    StoreError
        There is no room, or the database may only be read.
    """
    need_room(store)
    with marked(store, now), store.write() as db:
        gone = forget_who(db, number, name=name, also=also, shown=shown, now=now, by=by)
    return gone, finish(store, tell)


def close_and_overwrite(
    store: Store,
    number: int,
    *,
    outcome: str,
    also: Collection[int] | None = None,
    shown: Sequence[NamePlace] | None = None,
    now: datetime,
    by: str | None,
    tell: Told,
) -> tuple[RemarkClosed, Overwriting | None]:
    """Close a remark, delete who made it, and overwrite that; None where nobody was named.

    Raises
    ------
    UnknownRecord, NotAllowed, EntriesAtFault, PlacesOpen
        As `close_remark`; nothing was changed then.
    StoreError
        There is no room, or the database may only be read.
    """
    with store.read() as db:
        named = find_remark(db, number).person is not None
    if not named:
        with store.write() as db:
            return close_remark(db, number, outcome=outcome, now=now, by=by), None
    need_room(store)
    with marked(store, now), store.write() as db:
        done = close_remark(*(db, number), outcome=outcome, also=also, shown=shown, now=now, by=by)
    return done, finish(store, tell)

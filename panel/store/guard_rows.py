"""The count of somebody's wrong PINs as it is stored, whatever another tool wrote there.

A row that cannot be read is no fault of ours to stop at: it counts as a wait that starts now. No
wait is longer than the longest that the program sets.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, cast

from sqlalchemy import Select, Table, delete, select, type_coerce, update
from sqlalchemy.orm import Session
from sqlalchemy.types import NullType

from panel.store.people import Person, SignInGuard

TRIES = 5
FIRST_WAIT_S = 60
LONGEST_WAIT_S = 3600
GUARDS = cast("Table", SignInGuard.__table__)


@dataclass(frozen=True)
class StoredGuard:
    """A row as it is stored."""

    person_id: int
    failures: object
    failed_at: object
    wait_s: object

    @property
    def readable(self) -> bool:
        """Tell whether it is a count, a moment and seconds."""
        counts = (self.failures, self.wait_s)
        return all(isinstance(n, int) and n >= 0 for n in counts) and _is_moment(self.failed_at)

    @property
    def too_long(self) -> bool:
        """Tell whether it waits longer than the program ever lets anybody wait."""
        return isinstance(self.wait_s, int) and self.wait_s > LONGEST_WAIT_S


def wait_after(failures: int) -> int:
    """Return how many seconds the next try waits after so many wrong ones in a row."""
    if failures < TRIES:
        return 0
    return int(min(FIRST_WAIT_S * 2 ** min(failures - TRIES, 10), LONGEST_WAIT_S))


def guard_of(db: Session, person: Person, now: datetime) -> SignInGuard:
    """Return the count of a person's wrong PINs, put right where it was damaged; else a new one."""
    row = db.execute(_asked().where(GUARDS.c.person_id == person.id)).one_or_none()
    if row is None:
        return SignInGuard(person_id=person.id, failures=0, wait_s=0)
    stored = StoredGuard(*tuple(row))
    if not stored.readable or stored.too_long:
        put_right = update(GUARDS).where(GUARDS.c.person_id == person.id)
        db.execute(put_right.values(_righted(stored, now)))
    return db.get_one(SignInGuard, person.id, populate_existing=True)


def forget_guard(db: Session, person: Person) -> None:
    """Forget a person's wrong PINs, whatever stands there."""
    db.flush()
    db.execute(delete(GUARDS).where(GUARDS.c.person_id == person.id))


def odd_guards(db: Session) -> Iterator[tuple[str, StoredGuard]]:
    """Give rows that another tool wrote, with the code of whose they are."""
    asked = _asked().add_columns(Person.code).join(Person, Person.id == GUARDS.c.person_id)
    for *columns, code in db.execute(asked.order_by(Person.code)):
        stored = StoredGuard(*columns)
        if not stored.readable or stored.too_long:
            yield code, stored


def _asked() -> Select[*tuple[Any, ...]]:
    names = ("person_id", "failures", "failed_at", "wait_s")
    columns = [type_coerce(GUARDS.c[name], NullType()) for name in names]
    return select(*columns)


def _righted(stored: StoredGuard, now: datetime) -> dict[str, object]:
    whole = isinstance(stored.failures, int) and stored.failures >= 0
    failures = min(cast("int", stored.failures), 2**31 - 1) if whole else TRIES
    if stored.readable:
        return {"failures": failures, "wait_s": LONGEST_WAIT_S}
    failures = max(failures, TRIES)
    return {"failures": failures, "failed_at": now, "wait_s": wait_after(failures)}


def _is_moment(stored: object) -> bool:
    if stored is None or isinstance(stored, datetime):
        return True
    try:
        datetime.fromisoformat(cast("str", stored))
    except (ValueError, TypeError):
        return False
    return True

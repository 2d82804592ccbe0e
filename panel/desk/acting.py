"""The one way the desk writes: a transaction for one act, and who leads in it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.store.engine import Session, Store


@dataclass(frozen=True)
class Acting:
    """A write transaction and the code of who acts in it."""

    db: Session
    by: str


@contextmanager
def writing(store: Store) -> Iterator[Session]:
    """Give a transaction for one act; it is kept at the end, or nothing of it."""
    with store.write() as db:
        yield db


@contextmanager
def leading(store: Store, by: str | None) -> Iterator[Acting]:
    """Give a write transaction to somebody who leads the panel."""
    from panel.store.who import lead_code

    with writing(store) as db:
        yield Acting(db, lead_code(db, by))

"""Who acts on a session, and in which transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.cli.invocation import Invocation


@dataclass(frozen=True)
class Acting:
    """A write transaction and the code of who acts in it."""

    db: Session
    by: str


@contextmanager
def leading(inv: Invocation) -> Iterator[Acting]:
    """Give a write transaction to somebody who leads the panel."""
    from panel.kinds import Role
    from panel.session.blueprint import today_at_site
    from panel.store.who import acting_person

    with closing(inv.open()) as store, store.write() as db:
        on = today_at_site(db, inv.now())
        yield Acting(db, acting_person(db, inv.by, Role.LEAD, on=on).code)


@contextmanager
def reading(inv: Invocation) -> Iterator[Session]:
    """Give a transaction that only reads."""
    with closing(inv.open(readonly=True)) as store, store.read() as db:
        yield db


def shown(name: str) -> str:
    """Return a name as a shell takes it."""
    import shlex

    return shlex.quote(name)

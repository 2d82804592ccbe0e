"""Who acts on a session, and in which transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.cli.invocation import Invocation
    from panel.records.acts import Act
    from panel.store.engine import Session


@dataclass(frozen=True)
class Acting:
    """A write transaction and the code of who acts in it."""

    db: Session
    by: str


@contextmanager
def leading(inv: Invocation, act: Act | None = None) -> Iterator[Acting]:
    """Give a write transaction to somebody who leads the panel; for *act* they prove it first."""
    from panel.store.who import lead_code

    by = inv.by if act is None else inv.proved(act)
    with inv.writing() as db:
        yield Acting(db, lead_code(db, by, on=inv.today(db)))


def shown(name: str) -> str:
    """Return a name as a shell takes it."""
    import shlex

    return shlex.quote(name)

"""A stored target as the analysis takes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.store.targets import StoredTarget

if TYPE_CHECKING:
    from analysis.target import Target


def target_of(db: Session, name: str) -> Target:
    """Return a stored target as the analysis takes it.

    Raises
    ------
    UnknownRecord
        There is no target of that name.
    """
    from analysis.target import Target, TargetLine

    stored = db.scalar(select(StoredTarget).where(StoredTarget.name == name))
    if stored is None:
        names = db.scalars(select(StoredTarget.name)).all()
        hint = f" There are: {', '.join(names)}." if names else " None are loaded yet."
        raise UnknownRecord(f"There is no target {name!r}.{hint}")
    lines = tuple(
        TargetLine(line.descriptor.name, line.aim, line.tolerance, line.weight)
        for line in stored.lines
    )
    return Target(stored.name, lines)

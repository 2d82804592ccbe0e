"""A stored target as the analysis takes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.store.targets import Target

if TYPE_CHECKING:
    from analysis.target import Target as Aim


def target_of(db: Session, name: str) -> Aim:
    """Return a stored target as the analysis takes it.

    Raises
    ------
    UnknownRecord
        There is no target of that name.
    """
    from analysis.target import Target as Aim
    from analysis.target import TargetLine as AimLine

    stored = db.scalar(select(Target).where(Target.name == name))
    if stored is None:
        names = db.scalars(select(Target.name)).all()
        hint = f" There are: {', '.join(names)}." if names else " None are loaded yet."
        raise UnknownRecord(f"There is no target {name!r}.{hint}")
    lines = tuple(
        AimLine(line.descriptor.name, line.aim, line.tolerance, line.weight)
        for line in stored.lines
    )
    return Aim(stored.name, lines)

"""What can be asked about the next session, a line each: targets, releases, makes, records."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import ReleaseStatus
from panel.questions.next_wanted import RECORDS, NextWanted
from panel.questions.targets import target_names
from panel.store.filling_states import filling_states
from panel.store.releases import Release

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import date

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class NextChoice:
    """A question about the next session, and of what; a release is named where it is of one."""

    question: str
    about: str
    wanted: NextWanted
    release: str | None = None

    @property
    def name(self) -> str:
        """What it is told apart by."""
        return f"{self.question}: {self.about}"


def next_choices(db: Session, *, as_of: date) -> list[NextChoice]:
    """Return all that can be asked."""
    return list(_choices(db, as_of))


def _choices(db: Session, as_of: date) -> Iterator[NextChoice]:
    targets = target_names(db)
    for name in targets:
        yield NextChoice("Best casks", name, NextWanted(target=name))
    proposed = select(Release).where(
        Release.status.in_((ReleaseStatus.PROPOSED, ReleaseStatus.SIGNED)),
        Release.target_id.is_not(None),
    )
    for release in db.scalars(proposed.order_by(Release.name)):
        yield NextChoice("Within tolerance", release.name, NextWanted(), release.name)
    lying = [state for state in filling_states(db, as_of) if state.emptied_on is None]
    for make in sorted({state.make for state in lying if state.make}):
        for name in targets:
            wanted = NextWanted(target=name, make=make)
            yield NextChoice("Ready when", f"{make} for {name}", wanted)
    for record in RECORDS:
        yield NextChoice("Does it matter", record, NextWanted(record=record))

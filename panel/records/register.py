"""The register of samples, told why a sample was drawn and what became of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import EntriesAtFault, UnknownRecord
from panel.records.deed import deed
from panel.store.draws import Draw

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class Account:
    """What is on record of a sample's reason and fate."""

    sample: str
    reason: str | None
    fate: str | None


def account_for(
    db: Session,
    sample: str,
    *,
    reason: str | None,
    fate: str | None,
    now: datetime,
    by: str | None,
) -> Account:
    """Keep why a sample was drawn, or what became of it.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such sample; or whoever acts does not lead.
    EntriesAtFault
        Nothing is said.
    """
    with deed(db, "sample accounted for", now=now, by=by) as done:
        draw = db.scalar(select(Draw).where(Draw.label == sample))
        if draw is None:
            raise UnknownRecord(f"There is no sample {sample!r} in the records.")
        if not (reason or fate):
            wrong = "Say why it was drawn (--reason) or what became of it (--fate)."
            raise EntriesAtFault({"reason": wrong})
        draw.reason = reason or draw.reason
        draw.fate = fate or draw.fate
        done.details.update(sample=sample, reason=bool(reason), fate=bool(fate))
        return Account(sample, draw.reason, draw.fate)

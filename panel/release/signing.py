"""What the one who signs sees first, reckoned once outside the transaction that signs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.release.benched import profile_of_nosed
from panel.release.trace import find_by_name_or_lot, record_of
from panel.store.who import SIGNERS, people_with

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile


@dataclass(frozen=True)
class BeforeSigning:
    """The record of a release, the profile that its nosed blend was judged by, and who may sign.

    `may_sign` are the codes of those who have the role and did no part of it: a second person.
    """

    record: dict[str, Any]
    profile: Profile | None
    may_sign: tuple[str, ...]

    @property
    def against(self) -> tuple[str, ...]:
        """What asks for a reason to sign despite of it, a sentence each."""
        return tuple(str(each["sentence"]) for each in self.record["against"])


def before_signing(
    db: Session, name: str, *, on: date, profile: Profile | None = None
) -> BeforeSigning:
    """Return what is looked at before anybody signs: it takes seconds where a blend was nosed.

    Raises
    ------
    UnknownRecord
        There is no such release.
    """
    known = profile or profile_of_nosed(db, name, as_of=on)
    record = record_of(db, name, as_of=on, profile=known)
    release = find_by_name_or_lot(db, name)
    did = {release.proposed_by, release.disgorged_by}
    there = {one.code for role in SIGNERS for one in people_with(db, role, on)}
    return BeforeSigning(record, known, tuple(sorted(there - did)))

"""The batches of a target over the years: what each was found to be, or was reckoned as."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.kinds import ReleaseStatus
from panel.release.batch import batch_before
from panel.store.batches import ReleaseBatch
from panel.store.release_records import releases

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import NoteBefore
    from panel.store.releases import Release


@dataclass(frozen=True)
class BatchOfYear:
    """One batch.

    Attributes
    ----------
    lot, release, on, status
        Its lot code or name, its release, its day (bottled, else disgorged, meant or planned) and
        at which step it stands.
    follows
        The batch before it, where it was proposed as its successor.
    nosed
        Whether the panel found its notes; else they are reckoned from its casks.
    notes
        Value and standard deviation of each note, points of the line.
    """

    lot: str
    release: str
    on: date
    status: str
    bottles: int | None
    follows: str | None
    nosed: bool
    notes: tuple[NoteBefore, ...]


@dataclass(frozen=True)
class BatchesFound(AsJson):
    """All batches of a target, the oldest first.

    Attributes
    ----------
    bands
        Low and high of what the target asks today, by note.
    """

    target: str
    batches: tuple[BatchOfYear, ...]
    bands: dict[str, tuple[float, float]]

    json_also = ("sentence",)

    @property
    def sentence(self) -> str:
        """How many there are, and on which note any two lie furthest apart."""
        if not self.batches:
            return f"No release of {self.target} has notes on record yet."
        said = f"{len(self.batches)} batches of {self.target} since {self.batches[0].on.year}."
        if len(self.batches) == 1:
            return f"One batch of {self.target} so far, {self.batches[0].lot}."
        note, low, high = max(
            (_range_of(self.batches, name) for name in self.bands), key=lambda r: r[2][0] - r[1][0]
        )
        return (
            f"{said} Furthest apart they lie on {note}: {low[0]:.0f} ({low[1]}) to {high[0]:.0f} "
            f"({high[1]}), as estimated."
        )


def _range_of(
    batches: tuple[BatchOfYear, ...], name: str
) -> tuple[str, tuple[float, str], tuple[float, str]]:
    values = [
        (note.estimate, batch.lot)
        for batch in batches
        for note in batch.notes
        if note.descriptor == name
    ] or [(0.0, "")]
    return name, min(values), max(values)


def batches_of(
    db: Session, target: str, *, as_of: date, profile: Profile | None = None
) -> BatchesFound:
    """Return every release of a target that was not given up, the oldest first.

    Raises
    ------
    UnknownRecord
        There is no such target.
    """
    from panel.errors import ReleaseError
    from panel.frames import target_of
    from panel.questions.profile import house_profile

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    found = []
    for release in releases(db):
        if release.target is None or release.target.name != target:
            continue
        if release.status is ReleaseStatus.CANCELLED or release.planned_on > as_of:
            continue
        try:
            before = batch_before(db, release, aim, as_of=as_of, profile=known)
        except ReleaseError:  # nothing was ever known of its notes
            continue
        found.append(_batch(db, release, before.lot, before.notes, nosed=before.nosed))
    bands = {
        line.descriptor: (line.aim - line.tolerance, line.aim + line.tolerance)
        for line in aim.lines
    }
    return BatchesFound(target, tuple(sorted(found, key=lambda b: (b.on, b.lot))), bands)


def _batch(
    db: Session, release: Release, lot: str, notes: tuple[NoteBefore, ...], *, nosed: bool
) -> BatchOfYear:
    followed = db.get(ReleaseBatch, release.id)
    return BatchOfYear(
        lot=lot,
        release=release.name,
        on=release.bottled_on or release.disgorged_on or release.bottling_on or release.planned_on,
        status=release.status.value,
        bottles=release.bottles,
        follows=None if followed is None else followed.before.lot_code or followed.before.name,
        nosed=nosed,
        notes=notes,
    )

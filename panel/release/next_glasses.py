"""What to nose next to tell whether a release's vatting is within tolerance."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.errors import OakpanelError
from panel.kinds import ReleaseStatus
from panel.questions.change_of_mind import would_change
from panel.questions.next_planners import VatAsked
from panel.questions.next_session import NextAnswer, next_session
from panel.questions.samples_at_hand import glasses_in
from panel.release.planned import stock_for
from panel.session.liquids import liquids_of
from panel.store.release_records import find_release

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import VatMind
    from analysis.profile import Profile
    from panel.questions.next_wanted import NextWanted
    from panel.store.releases import Release

OVER = (ReleaseStatus.BOTTLED, ReleaseStatus.CANCELLED)


def next_of_release(
    db: Session, name: str, wanted: NextWanted, *, as_of: date, profile: Profile | None = None
) -> NextAnswer:
    """Return what to nose next for a release.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    OakpanelError
        It is bottled or cancelled, or was proposed without a target.
    """
    vat = _vat_of(db, name, as_of=as_of, profile=profile)
    return next_session(db, wanted, as_of=as_of, profile=profile, vat=vat)


def would_change_release(
    db: Session, name: str, *, as_of: date, profile: Profile | None = None
) -> VatMind | None:
    """Return what the next session could change about a release.

    Raises
    ------
    UnknownRecord, OakpanelError
        As `next_of_release` does.
    """
    vat = _vat_of(db, name, as_of=as_of, profile=profile)
    return would_change(db, vat, as_of=as_of, profile=profile)


def _vat_of(db: Session, name: str, *, as_of: date, profile: Profile | None) -> VatAsked:
    release = _undecided(db, name)
    aim, house = stock_for(db, release, as_of=as_of, profile=profile)
    bench, glasses = _on_the_bench(db, release, as_of)
    return VatAsked(
        release=release.name,
        aim=aim,
        house=house,
        parts={part.filling.cask.number: part.litres for part in release.parts},
        bottles=release.bottles,
        bench=bench,
        glasses=glasses,
    )


def _undecided(db: Session, name: str) -> Release:
    release = find_release(db, name)
    if release.status in OVER or release.target is None:
        why = "it has no target" if release.target is None else f"it is {release.status.value}"
        raise OakpanelError(f"Nothing is to be decided about release {name!r}: {why}.")
    return release


def _on_the_bench(db: Session, release: Release, as_of: date) -> tuple[str | None, int | None]:
    """Return the last bench blend that still gives a glass."""
    draws = [bench.draw for bench in release.benches if bench.draw.fate is None]
    liquids = liquids_of(db, draws, as_of, only_revealed=True)
    for draw in reversed(draws):
        glasses = glasses_in(db, liquids[draw.id])
        if glasses != 0:
            return draw.label, glasses
    return None, None

"""From a batch before to the release that follows it: blended by hand, proposed, kept beside it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from panel.errors import ReleaseError
from panel.kinds import ReleaseStatus
from panel.release.batch import AsBatch, batch_before, house_batch, refuse_unsafe, with_recipe
from panel.release.trace import find_by_name_or_lot
from panel.store.batches import ReleaseBatch
from panel.store.release_records import find_release

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import Limits
    from panel.questions.blending import BlendGround, BlendStart
    from panel.release.propose import Proposal


def batch_ground(
    db: Session,
    target: str,
    limits: Limits,
    asked: AsBatch | None,
    *,
    as_of: date,
    exponents: Mapping[str, float] | None = None,
    profile: Profile | None = None,
    with_foretold: bool = False,
) -> BlendGround:
    """Return the stock to blend a batch from, its aims those of the batch before, its limits.

    Without a batch the aims are the target's own.

    Raises
    ------
    OakpanelError, InputError
        As `house_batch` does, or a rule in force forbids what is asked.
    """
    from panel.questions.blending import BlendGround, blend_ground
    from panel.questions.profile import house_profile
    from panel.questions.vatting import beside_batch

    how: dict[str, Any] = {
        "as_of": as_of,
        "exponents": exponents,
        "with_foretold": with_foretold,
    }
    if asked is None:
        return blend_ground(db, target, limits, profile=profile, **how)
    known = how["profile"] = profile or house_profile(db, as_of=as_of)
    last = find_by_name_or_lot(db, asked.lot)
    ground = blend_ground(db, target, with_recipe(limits, last, asked), **how)
    before = batch_before(db, last, ground.aim, as_of=as_of, profile=known)
    return BlendGround(
        *beside_batch(ground.house, ground.aim, before, asked.points(db)), ground.limits
    )


def batch_start(
    db: Session,
    target: str,
    limits: Limits,
    asked: AsBatch,
    *,
    as_of: date,
    profile: Profile | None = None,
    with_foretold: bool = False,
) -> BlendStart:
    """Return the stock to blend a batch from, its aims those of the batch before.

    Raises
    ------
    OakpanelError, InputError
        As `house_batch` does, or a rule in force forbids what is asked.
    """
    from panel.questions.blending import BlendStart
    from panel.questions.profile import house_profile

    known = profile or house_profile(db, as_of=as_of)
    about = (db, target, limits, asked)
    ground = batch_ground(*about, as_of=as_of, profile=known, with_foretold=with_foretold)
    found = house_batch(
        *about, as_of=as_of, in_full=False, profile=known, with_foretold=with_foretold
    ).answer
    why = "" if getattr(found.found, "mixture", None) else found.found.sentence
    return BlendStart(ground.house, ground.aim, ground.limits, found, why)


def batch_proposal(
    db: Session,
    target: str,
    limits: Limits,
    asked: AsBatch,
    *,
    number: int = 1,
    as_of: date,
    with_held: bool = False,
    exponents: Mapping[str, float] | None = None,
) -> Proposal:
    """Return the proposal of a batch like one before; its prediction is against the target.

    Raises
    ------
    OakpanelError
        As `house_batch` and `from_answer` do.
    """
    from panel.release.propose import from_answer

    found = house_batch(
        *(db, target, limits, asked), as_of=as_of, with_held=with_held, exponents=exponents
    )
    chosen = from_answer(found.answer, number, exponents)
    return against_target(db, chosen, as_of=as_of, with_held=with_held)


def against_target(
    db: Session, chosen: Proposal, *, as_of: date, with_held: bool = False
) -> Proposal:
    """Return a proposal that was chosen beside another batch with its prediction for the target."""
    from panel.release.propose import from_litres

    found = from_litres(
        *(db, chosen.target, chosen.limits),
        {part.cask: part.litres for part in chosen.mixture.parts},
        as_of=as_of,
        with_held=with_held,
        exponents=chosen.exponents,
    )
    return replace(
        found,
        reason=chosen.reason,
        chill_filtered=chosen.chill_filtered,
        beside=chosen.mixture,
    )


def keep_batch(db: Session, name: str, asked: AsBatch) -> None:
    """Keep beside a release which batch it follows; in the transaction that proposes it.

    Raises
    ------
    ReleaseError
        The batch before was cancelled, a remark on it about safety is open, or it is the release
        itself.
    """
    release, before = find_release(db, name), find_by_name_or_lot(db, asked.lot)
    if before.status is ReleaseStatus.CANCELLED or before is release:
        why = "is this one" if before is release else "was cancelled"
        raise ReleaseError(f"Nothing follows {asked.lot}: it {why}. Nothing was reserved.")
    refuse_unsafe(db, before)
    db.add(ReleaseBatch(release_id=release.id, before_id=before.id, within_points=asked.points(db)))
    db.flush()

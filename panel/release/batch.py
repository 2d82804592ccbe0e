"""Batch after batch: casks for one like the last, its recipe as limits, how near it lies."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.errors import ReleaseError
from panel.kinds import ReleaseStatus
from panel.release.benched import bench_nosed
from panel.release.lot_bottles import nosing_forbidden
from panel.release.recipe import litres_of
from panel.release.trace import find_by_name_or_lot
from panel.store.house import number_setting

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import BatchAfter, BatchBefore, Limits, Mixture, NoteBefore, Share
    from panel.questions.vatting import VatAnswer
    from panel.store.releases import Release, ReleasePart


@dataclass(frozen=True)
class AsBatch:
    """What a batch is to be like.

    Attributes
    ----------
    lot
        Lot code or name of the batch before.
    within_points
        How far apart the two may lie on a note; None: as far as the house calls alike.
    recipe_within
        How far the share of each wood and make may be from what it was, as a fraction; None asks
        nothing of the recipe.
    """

    lot: str
    within_points: float | None = None
    recipe_within: float | None = 0.1

    def points(self, db: Session) -> float:
        """How far apart the two may lie."""
        return self.within_points or number_setting(db, "alike_tolerance")


@dataclass(frozen=True)
class BatchVatted:
    """A vatting like the batch before, and how near it lies; None where none was found."""

    answer: VatAnswer
    after: BatchAfter | None


def house_batch(
    db: Session,
    target: str,
    limits: Limits,
    asked: AsBatch,
    *,
    as_of: date,
    with_held: bool = False,
    exponents: Mapping[str, float] | None = None,
    in_full: bool = True,
    profile: Profile | None = None,
    with_foretold: bool = False,
) -> BatchVatted:
    """Choose casks and litres for a batch like one before.

    Raises
    ------
    UnknownRecord
        There is no such target, and no release of that name or lot.
    ReleaseError
        Nothing is known of that batch's notes.
    InputError
        It and the target have no notes in common.
    """
    from panel.frames import target_of
    from panel.questions.profile import house_profile
    from panel.questions.vatting import house_vatting

    aim = target_of(db, target)
    known = profile or house_profile(db, as_of=as_of)
    last = find_by_name_or_lot(db, asked.lot)
    refuse_unsafe(db, last)
    before = batch_before(db, last, aim, as_of=as_of, profile=known)
    answer = house_vatting(
        *(db, aim, with_recipe(limits, last, asked)),
        as_of=as_of,
        with_held=with_held,
        exponents=exponents,
        in_full=in_full,
        profile=known,
        with_foretold=with_foretold,
        before=before,
        within_points=asked.points(db),
    )
    mixture = getattr(answer.found, "mixture", None)
    if mixture is None:
        return BatchVatted(_with_way_out(answer, asked), None)
    chance = _of_target(db, aim, answer, mixture, known, exponents, with_foretold)
    return _told(answer, before, aim, asked.points(db), mixture, chance)


def refuse_unsafe(db: Session, last: Release) -> None:
    """Refuse a lot as the batch to be like, as long as a remark about safety on it is open.

    Raises
    ------
    ReleaseError
        There is such a remark; it says what to do.
    """
    if said := nosing_forbidden(db, last):
        raise ReleaseError(f"No batch is made like {last.lot_code or last.name}: {said[0]}.")


def _with_way_out(answer: VatAnswer, asked: AsBatch) -> VatAnswer:
    """Say how to ask where the recipe stands in the way: whole casks seldom give shares twice."""
    from analysis.vatting import LimitKind, NoVatting

    found = answer.found
    if not isinstance(found, NoVatting) or asked.recipe_within is None:
        return answer
    if all(key.kind is not LimitKind.SHARE for key in found.keys):
        return answer
    said = (
        f"{found.sentence} Whole casks seldom give the shares of wood and make of {asked.lot} "
        "twice: take parts of casks (--part), a wider recipe (--recipe 20) or none (--free-recipe)."
    )
    return replace(answer, found=replace(found, sentence=said))


def _told(
    answer: VatAnswer,
    before: BatchBefore,
    aim: Target,
    points: float,
    mixture: Mixture,
    chance: float | None,
) -> BatchVatted:
    """Return the answer with its own sentence: of two batches, not of a target."""
    from analysis.vatting import batch_after
    from analysis.vatting.batch_verdict import batch_action
    from analysis.vatting.verdict import foretold_words

    after = batch_after(
        *(mixture, before, aim, answer.limits), within_points=points, of_target=chance
    )
    said = " ".join(filter(None, (after.sentence, foretold_words(mixture))))
    plan = replace(answer.plan, sentence=said, next_action=batch_action(after))
    return BatchVatted(replace(answer, found=plan), after)


def _of_target(
    db: Session,
    aim: Target,
    answer: VatAnswer,
    mixture: Mixture,
    profile: Profile,
    exponents: Mapping[str, float] | None,
    with_foretold: bool,
) -> float | None:
    """Return the chance that what was chosen is within the target's own tolerances."""
    from analysis.errors import AnalysisError
    from panel.questions.blending import try_litres
    from panel.questions.vatting import house_stock

    house = house_stock(
        db,
        as_of=answer.as_of,
        profile=profile,
        exponents=exponents,
        bottling_on=answer.limits.bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
        with_foretold=with_foretold,
    )
    try:
        litres = {part.cask: part.litres for part in mixture.parts}
        return try_litres(house, litres, aim, answer.limits).mixture.probability
    except AnalysisError:  # a note of the target that these casks were never scored on
        return None


def batch_before(
    db: Session, release: Release, aim: Target, *, as_of: date, profile: Profile
) -> BatchBefore:
    """Return what is known of a batch: as the panel found its blend, else as it was reckoned.

    Raises
    ------
    ReleaseError
        Nothing is.
    """
    from analysis.vatting import BatchBefore, notes_found

    lot = release.lot_code or release.name
    nosed = bench_nosed(db, release, as_of=as_of, profile=profile)
    if nosed is not None:
        found = notes_found(profile, nosed.sample, [line.descriptor for line in aim.lines])
        if found:
            evenings = tuple(each.session for each in nosed.evenings)
            at = nosed.evenings[-1].nosing_abv_percent
            before = BatchBefore(lot, release.name, found, nosed.sample, evenings, at)
            return _as_it_stands(before, release, aim)
    notes = reckoned_notes(release)
    if not notes:
        raise ReleaseError(
            f"Nothing is known of the notes of {lot}: no revealed session nosed a blend of it, and "
            "it was proposed without a prediction."
        )
    nosing = number_setting(db, "nosing_abv")
    before = BatchBefore(lot, release.name, notes, nosing_abv_percent=nosing)
    return _as_it_stands(before, release, aim)


def _as_it_stands(before: BatchBefore, release: Release, aim: Target) -> BatchBefore:
    """Say of a batch before how far it has come, and whether it was made for another target."""
    proposed = release.status is ReleaseStatus.PROPOSED and release.disgorged_on is None
    other = release.target.name if release.target and release.target.name != aim.name else None
    return replace(before, only_proposed=proposed, other_target=other)


def reckoned_notes(release: Release) -> tuple[NoteBefore, ...]:
    """Return the notes of a release as they were reckoned: as disgorged, else as planned."""
    from analysis.vatting import NoteBefore

    for kept in (release.found_json, release.predicted_json):
        lines = json.loads(kept or "{}").get("prediction") or []
        if lines:
            return tuple(
                NoteBefore(str(each["descriptor"]), float(each["estimate"]), float(each["sd"]))
                for each in lines
            )
    return ()


def with_recipe(limits: Limits, release: Release, asked: AsBatch) -> Limits:
    """Return limits with the shares by wood and make of a batch before among them."""
    if asked.recipe_within is None:
        return limits
    return replace(limits, shares=(*limits.shares, *recipe_of(release, asked.recipe_within)))


def recipe_of(release: Release, within: float) -> tuple[Share, ...]:
    """Return the shares by wood and make of a release as limits."""
    from analysis.vatting import recipe_shares

    return recipe_shares(
        (
            (part.filling.cask.wood, _make_of(part), litres_of(part))
            for part in release.parts
            if litres_of(part) > 0.0
        ),
        within=within,
    )


def _make_of(part: ReleasePart) -> str | None:
    make = part.filling.make
    return None if make is None else make.name

"""The blind check of a batch beside the one before it: planned, and its finding kept with it."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Annotated, Any

from sqlalchemy import select

from analysis.as_json import AsJson
from panel.errors import ReleaseError, UnknownRecord
from panel.kinds import Role
from panel.questions.next_plan import usual_plan
from panel.questions.samples_at_hand import glasses_in
from panel.release.lot_bottles import nosing_forbidden
from panel.release.trace import find_by_name_or_lot, sessions_of
from panel.session.liquids import liquids_of
from panel.session.plan_parts import lexicon_names
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import release_of_draw
from panel.store.draws import Draw
from panel.store.log import append_entry
from panel.store.training import panel_on
from panel.store.who import acting_person

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from analysis.agreement import TwoCasks
    from panel.release.record import CheckKept
    from panel.session.plan_parts import SessionPlan
    from panel.store.releases import Release

GLASSES_EACH = 2
"""Of each batch, for every assessor: without a repeat nobody knows how steady a nose is."""
PAIR = 2


@dataclass(frozen=True)
class BatchChecked(AsJson):
    """A release as a batch after another, and its blind check.

    Attributes
    ----------
    release, before, within_points
        Which follows which, and how far apart they may lie.
    sample, before_sample
        The two samples that were named for the check; None before it is planned.
    sessions
        Revealed sessions that poured both.
    found
        What they show, as of now; None with `reason`.
    kept, kept_on
        What was kept of it, and when; None where nothing was.
    """

    release: str
    before: str
    within_points: float
    sample: str | None
    before_sample: str | None
    sessions: tuple[str, ...]
    found: TwoCasks | None
    reason: str | None
    kept: Annotated[dict[str, Any] | None, CheckKept]
    kept_on: date | None


def batch_of(db: Session, name: str) -> ReleaseBatch:
    """Return which batch a release follows.

    Raises
    ------
    UnknownRecord
        There is no such release.
    ReleaseError
        It follows none.
    """
    release = find_by_name_or_lot(db, name)
    batch = db.get(ReleaseBatch, release.id)
    if batch is None:
        raise ReleaseError(
            f"Release {release.name} follows no batch: it was not proposed with --as-batch LOT."
        )
    return batch


def check_samples(
    db: Session, name: str, *, on: date, beside: str | None = None
) -> tuple[Draw, Draw]:
    """Return the sample of a batch and that of the one before it which can be poured.

    Parameters
    ----------
    beside
        The sample of the batch before, such as one of a bottle that was kept; else a bench blend
        of it with a glass left.

    Raises
    ------
    ReleaseError
        One of the two is not at hand.
    UnknownRecord
        There is no sample of that name.
    """
    batch = batch_of(db, name)
    _refuse_unsafe(db, batch.release, batch.before)
    mine = _at_hand(db, batch.release, on)
    if mine is None:
        raise ReleaseError(
            f"There is no bench blend of {batch.release.name} to pour: mix one first "
            f"(`oakpanel release bench {batch.release.name!r}`)."
        )
    if beside is not None:
        theirs = db.scalar(select(Draw).where(Draw.label == beside))
        if theirs is None:
            raise UnknownRecord(f"There is no sample {beside!r}.")
        if theirs.id == mine.id:
            raise ReleaseError(f"{beside!r} is the sample of the new batch itself.")
        _refuse_unsafe(db, release_of_draw(db, theirs))
        return mine, theirs
    theirs = _at_hand(db, batch.before, on)
    if theirs is None:
        raise ReleaseError(
            f"No bench blend of {batch.before.name} gives a glass any more: write down a draw of a "
            "bottle that was kept (kind market), and name it as the sample to pour beside."
        )
    return mine, theirs


def _refuse_unsafe(db: Session, *releases: Release | None) -> None:
    """Refuse to pour a lot with an open remark about safety."""
    for each in releases:
        if each is not None and (said := nosing_forbidden(db, each)):
            raise ReleaseError(f"{each.lot_code or each.name} is not nosed: {said[0]}.")


def _at_hand(db: Session, release: Release, on: date) -> Draw | None:
    """Return the newest bench blend of a release that still gives a glass."""
    draws = [bench.draw for bench in release.benches if bench.draw.fate is None]
    liquids = liquids_of(db, draws, on, only_revealed=True)
    left = [draw for draw in draws if glasses_in(db, liquids[draw.id]) != 0]
    return max(left, key=lambda draw: (str(draw.drawn_on), draw.id), default=None)


def check_plan(
    db: Session, name: str, session: str, *, held_on: date, beside: str | None = None
) -> SessionPlan:
    """Return the plan of the blind check: both batches twice for everybody, the target's lines.

    Raises
    ------
    ReleaseError, UnknownRecord
        As `check_samples` does.
    """
    mine, theirs = check_samples(db, name, on=held_on, beside=beside)
    plan = usual_plan(db, session, held_on)
    target = batch_of(db, name).release.target
    able = lexicon_names(db, plan.manner, held_on)
    asked = [line.descriptor.name for line in target.lines] if target else []
    lines = tuple(line for line in asked if line in able) or plan.descriptors
    return replace(
        plan,
        assessors=tuple(person.code for person in panel_on(db, held_on)),
        draws=(mine.label, theirs.label),
        descriptors=lines,
        replicates=GLASSES_EACH,
        duplicates=(),
        assigned=(),
        glasses_each=None,
    )


def too_little(db: Session, plan: SessionPlan) -> tuple[str, ...]:
    """Say which of the samples of a check does not go round, how many it serves, and the way on."""
    draws = list(db.scalars(select(Draw).where(Draw.label.in_(plan.draws)).order_by(Draw.id)))
    day, people = plan.held_on, len(plan.assessors)
    if day is None:
        return ()
    liquids = liquids_of(db, draws, day, only_revealed=True)
    served = {draw.label: glasses_in(db, liquids[draw.id]) for draw in draws}
    return tuple(
        f"{label} serves {glasses // plan.replicates} of {people} people, {plan.replicates} "
        "glasses each, beside loss and the sample kept back: before it is sealed, plan the draft "
        "anew under its name with fewer people, pour it beside another sample of the batch before "
        "(one of a bottle that was kept), or mix a larger blend where that still can be."
        for label, glasses in served.items()
        if glasses is not None and glasses // plan.replicates < people
    )


def name_check(db: Session, name: str, plan: SessionPlan, *, now: datetime, by: str) -> None:
    """Keep which two samples are in question, before anybody noses them; with the plan's writing.

    Raises
    ------
    ReleaseError
        The finding of an earlier check is kept already, the plan pours another than two samples, or
        a remark about safety on one of the two lots is open.
    NotAllowed
        Whoever acts is neither lead nor blender.
    """
    batch = batch_of(db, name)
    if batch.found_json is not None:
        raise ReleaseError(
            f"The finding of the check of {batch.release.name} was kept on {batch.found_on}: what "
            "was asked then stays as it is."
        )
    _refuse_unsafe(db, batch.release, batch.before)
    labels = dict(db.execute(select(Draw.label, Draw.id).where(Draw.label.in_(plan.draws))).all())
    if len(set(plan.draws)) != PAIR or len(labels) != PAIR:
        raise ReleaseError("A check pours two samples, that of each batch.")
    batch.sample_id, batch.before_sample_id = (labels[label] for label in plan.draws)
    db.flush()
    details = {"release": batch.release.name, "session": plan.name, "samples": list(plan.draws)}
    append_entry(db, at=now, by=by, action="batch check planned", details=details)


def checked_batch(db: Session, name: str, *, as_of: date | None = None) -> BatchChecked:
    """Return the blind check of a batch: what was named, and what revealed sessions show of it.

    Raises
    ------
    UnknownRecord, ReleaseError
        As `batch_of` does.
    """
    batch = batch_of(db, name)
    sessions = _both_poured(db, batch)
    found, reason = _found(db, batch, sessions, as_of)
    return BatchChecked(
        release=batch.release.name,
        before=batch.before.lot_code or batch.before.name,
        within_points=batch.within_points,
        sample=label_of(batch.sample),
        before_sample=label_of(batch.before_sample),
        sessions=sessions,
        found=found,
        reason=reason,
        kept=None if batch.found_json is None else json.loads(batch.found_json),
        kept_on=batch.found_on,
    )


def label_of(draw: Draw | None) -> str | None:
    """Return the label of a sample; None where there is none."""
    return None if draw is None else draw.label


def _both_poured(db: Session, batch: ReleaseBatch) -> tuple[str, ...]:
    if batch.sample_id is None or batch.before_sample_id is None:
        return ()
    one, other = (sessions_of(db, [each]) for each in (batch.sample_id, batch.before_sample_id))
    return tuple(str(name) for name, held in one if (name, held) in other)


def _found(
    db: Session, batch: ReleaseBatch, sessions: tuple[str, ...], as_of: date | None
) -> tuple[TwoCasks | None, str | None]:
    from analysis.agreement import PairAsked
    from analysis.errors import AnalysisError
    from panel.questions.two_casks import two_named_casks

    if batch.sample is None or batch.before_sample is None:
        return None, "no blind check of it was planned yet"
    if not sessions:
        return None, "no revealed session has poured both samples"
    try:
        pair = (batch.sample.label, batch.before_sample.label)
        within, asked = batch.within_points, PairAsked.BATCHES
        found = two_named_casks(db, sessions, pair, as_of=as_of, within=within, asked=asked)
    except AnalysisError as error:
        return None, str(error)
    return found, None


def keep_found(db: Session, name: str, *, on: date, now: datetime, by: str | None) -> BatchChecked:
    """Keep beside a batch what its blind check showed.

    Raises
    ------
    ReleaseError
        There is nothing to keep, or something was kept already.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER, on=on)
    checked, batch = checked_batch(db, name, as_of=on), batch_of(db, name)
    if checked.found is None:
        raise ReleaseError(f"There is nothing to keep of {checked.release}: {checked.reason}.")
    if checked.kept is not None:
        raise ReleaseError(f"What the check showed was kept on {checked.kept_on} already.")
    batch.found_json, batch.found_on = json.dumps(_figures(checked)), on
    db.flush()
    details = {"release": checked.release, "sessions": list(checked.sessions)}
    append_entry(db, at=now, by=person.code, action="batch check kept", details=details)
    return checked_batch(db, name, as_of=on)


def _figures(checked: BatchChecked) -> dict[str, Any]:
    """Figures and words of the program only: nobody is named in them."""
    found = checked.found
    if found is None:
        return {}
    return {
        "word": found.verdict.word.value,
        "sessions": list(checked.sessions),
        "notes": [
            {
                "descriptor": note.descriptor,
                "difference": note.difference,
                "se": note.se,
                "at_most": note.at_most,
                "word": note.verdict.word.value,
            }
            for note in found.notes
        ],
    }

"""Bench blends that the panel has nosed, put to the analysis; what they teach, kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import OakpanelError
from panel.figures import in_digits
from panel.kinds import Role
from panel.release.trace import blends
from panel.store.filling_states import filling_states
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.mixing_notes import MixingNote
from panel.store.who import acting_person

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date, datetime

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting.learn import MixingLearned


@dataclass(frozen=True)
class BenchFrames:
    """The two frames that mixing is learnt from."""

    parts: pd.DataFrame
    nosed: pd.DataFrame


def bench_frames(db: Session, *, as_of: date, profile: Profile) -> BenchFrames:
    """Return what is known of the parts of every nosed blend, and what was nosed."""
    import pandas as pd

    estimates = profile.estimates[profile.estimates["estimate"].notna()]
    states = {state.filling_id: state for state in filling_states(db, as_of)}
    rows, labels = [], []
    for draw, parts in blends(db):
        lpa = {}
        for part, filling, _ in parts:
            state = states.get(filling.id)
            if state is not None:
                abv = state.strength_on(draw.drawn_on or as_of)
                lpa[filling.label] = part.millilitres * abv
        if len(lpa) < len(parts):
            continue
        labels.append(draw.label)
        whole = sum(lpa.values())
        rows += [
            (draw.label, note, amount / whole, estimate, se, label)
            for label, amount in lpa.items()
            for note, estimate, se in _latest(estimates, label)
        ]
    columns = ["blend", "descriptor", "share_lpa", "estimate", "sd", "filling"]
    frame = _complete(pd.DataFrame(rows, columns=columns))
    nosed = estimates[estimates["sample"].isin(labels)].rename(columns={"sample": "blend"})
    return BenchFrames(frame, nosed[["blend", "descriptor", "estimate", "se"]])


def _latest(estimates: pd.DataFrame, filling: str) -> list[tuple[str, float, float]]:
    from analysis.profile.latest import latest_draws

    rows = estimates[estimates["filling"] == filling]
    last = rows[rows["sample"].isin(latest_draws(rows)["sample"])]
    return list(zip(last["descriptor"], last["estimate"], last["se"], strict=True))


def _complete(parts: pd.DataFrame) -> pd.DataFrame:
    """Leave out notes on which not all parts of a blend are known."""
    if parts.empty:
        return parts
    whole = parts.groupby(["blend", "descriptor"])["share_lpa"].transform("sum")
    return parts[(whole - 1.0).abs() < 1e-9].reset_index(drop=True)


def learn_from_benches(
    db: Session, *, as_of: date, profile: Profile | None = None
) -> MixingLearned:
    """Return what the bench blends nosed so far say of how notes mix.

    Raises
    ------
    TooLittleError
        No blend was nosed whose casks were nosed too.
    """
    from analysis.vatting import MixingRule
    from analysis.vatting.learn import learn_mixing
    from panel.questions.mixing_rules import supplied_exponents
    from panel.questions.profile import house_profile

    known = profile or house_profile(db, as_of=as_of)
    frames = bench_frames(db, as_of=as_of, profile=known)
    return learn_mixing(frames.parts, frames.nosed, MixingRule(supplied_exponents(db)))


def keep_mixing(
    db: Session, learned: MixingLearned, *, on: date, now: datetime, by: str | None
) -> list[str]:
    """Keep exponent and gain of every note that was learnt, and the panel's error for all of them.

    Raises
    ------
    OakpanelError
        Nothing was learnt that would be worth keeping.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER)
    told = [note for note in learned.notes if note.learnt]
    if not told:
        raise OakpanelError(f"Nothing to keep. {learned.sentence}")
    words = {each.name: each for each in db.scalars(select(Descriptor))}
    for note in told:
        source = f"{note.n_blends} bench blends"
        _keep(db, words[note.descriptor], note.exponent, note.gain, learned.panel_sd, source, on)
    kept = [note.descriptor for note in told]
    details = {"notes": kept, "blends": learned.n_blends}
    append_entry(db, at=now, by=person.code, action="mixing learnt", details=details)
    return kept


def set_exponents(
    db: Session, exponents: Mapping[str, float], *, on: date, now: datetime, by: str | None
) -> None:
    """Set the exponents of notes by hand.

    Raises
    ------
    OakpanelError
        There is no such note, or an exponent is not above zero.
    NotAllowed
        Whoever acts is no blender.
    """
    person = acting_person(db, by, Role.BLENDER)
    for name, exponent in exponents.items():
        _set_exponent(db, name, exponent, on)
    details = {"notes": dict(exponents)}
    append_entry(db, at=now, by=person.code, action="mixing set", details=details)


def _set_exponent(db: Session, name: str, exponent: float, on: date) -> None:
    descriptor = db.scalar(select(Descriptor).where(Descriptor.name == name))
    if descriptor is None:
        raise OakpanelError(f"There is no note {name!r} in the lexicon.")
    if not 0.0 < exponent <= 5.0:
        raise OakpanelError(
            f"The exponent of {name} is {in_digits(exponent, 'g')}: it lies above 0, up to 5."
        )
    _keep(db, descriptor, exponent, 1.0, None, "set by hand", on)


def _keep(
    db: Session,
    descriptor: Descriptor,
    exponent: float,
    gain: float,
    panel_sd: float | None,
    source: str,
    on: date,
) -> None:
    note = db.get(MixingNote, descriptor.id)
    if note is None:
        note = MixingNote(descriptor_id=descriptor.id)
        db.add(note)
    note.exponent, note.gain, note.panel_sd = exponent, gain, panel_sd
    note.source, note.kept_on = source, on
    db.flush()

"""What a plan allows but the lead should know before sealing it."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from panel.figures import in_digits, tenths
from panel.kinds import GlassKind, Manner, PeatOrder, SessionStatus, Stage
from panel.session.blueprint import Blueprint
from panel.session.for_agreement import agreement_warnings
from panel.session.kinds import HELD
from panel.session.liquids import Liquid
from panel.session.orders import peat_class
from panel.session.pours import TOLD_KINDS, PourNeed, tell_a_duplicate
from panel.store.house import number_setting
from panel.store.key import PlannedWay
from panel.store.planted import planted_among
from panel.store.sessions import PanelSession
from panel.store.stage_lines import in_order
from panel.store.training import in_training_on, is_exercise, trainings_of

FEW_ASSESSORS = 5
A_QUARTER_DAYS = 92
SMOKE_SAID = {
    PeatOrder.RISING: (
        "the glasses are of different peat: the smoky ones come last on every tray, so place "
        "and peat cannot be told apart. A session for each peat would be better."
    ),
    PeatOrder.APART: (
        "the glasses are of different peat: each has flights of its own, the smoky ones last, so "
        "flight and peat cannot be told apart. Compare glasses of one flight; a session for each "
        "peat would be better."
    ),
    PeatOrder.BALANCED: (
        "the glasses are of different peat and stand in any order: what was nosed after a smoky "
        "glass smells of it, and only the model takes that out. Smoke last is the usual way."
    ),
}


def plan_warnings(
    db: Session, plan: Blueprint, needs: Sequence[PourNeed], by: str | None
) -> Iterator[str]:
    """Give a sentence for everything that will limit or bias what the session can tell."""
    if not HELD[plan.session.kind].usual_warnings:
        yield from HELD[plan.session.kind].warnings(plan)
        yield from _volume_warnings(db, plan, needs)
        return
    yield from _design_warnings(plan)
    if plan.session.kind.facts.pooled:
        yield from agreement_warnings(db, plan)
    yield from _people_warnings(plan, by, alone=is_exercise(db, plan.session))
    yield from _training_warnings(db, plan)
    yield from _line_warnings(db, plan)
    yield from HELD[plan.session.kind].warnings(plan)
    for liquid in plan.liquids.values():
        yield from _liquid_warnings(plan, liquid)
    yield from _volume_warnings(db, plan, needs)
    if not plan.session.kind.facts.in_sets:
        yield from _peat_warnings(db, plan)


def _design_warnings(plan: Blueprint) -> Iterator[str]:
    if plan.session.rehearsal:
        yield "the seed was given, so this is a rehearsal: who knows it can work out the codes."
    if plan.session.kind.facts.in_sets or plan.session.kind.facts.traced:
        return
    kinds = {glass.kind for glass in plan.glasses}
    if GlassKind.REFERENCE not in kinds and plan.session.kind.facts.pooled:
        yield (
            "there is no reference: sessions without a reference in common cannot be linked to "
            "others."
        )
    served = {kind: {g.draw_id for g in plan.glasses if g.kind is kind} for kind in kinds}
    if served.get(GlassKind.WARM_UP, set()) & served.get(GlassKind.REFERENCE, set()):
        yield (
            "the warm-up glass holds the reference: who remembers it knows the reference when it "
            "comes."
        )
    if all(glass.replicate == 1 for glass in plan.glasses if glass.kind is not GlassKind.REFERENCE):
        yield "no draw is poured twice, so nobody will know whether the panel repeats itself."


def _people_warnings(plan: Blueprint, by: str | None, *, alone: bool) -> Iterator[str]:
    """Say what few people can tell, unless all of them are in training `alone`; who has no PIN."""
    people = [seat.person for seat in plan.session.assessors]
    if len(people) < FEW_ASSESSORS and not alone and not plan.session.kind.facts.in_sets:
        yield (
            f"with {len(people)} assessors the verdict will say who repeats and how small a "
            "difference this panel can see, not more."
        )
    without = [person.code for person in people if person.pin_hash is None]
    if without:
        yield (
            f"{', '.join(without)} cannot sign in at a booth before `oakpanel people pin CODE` "
            "has given them a PIN."
        )
    if by in {person.code for person in people}:
        yield f"{by} plans and assesses: {by} knows which draws are served, not as which code."


def _training_warnings(db: Session, plan: Blueprint) -> Iterator[str]:
    training = [
        seat.person.code
        for seat in plan.session.assessors
        if in_training_on(trainings_of(db, seat.person), plan.session.held_on)
    ]
    if training:
        yield (
            f"in training: {', '.join(training)}. What they score is an exercise and counts for "
            "nothing else."
        )


def _line_warnings(db: Session, plan: Blueprint) -> Iterator[str]:
    lines = [line.descriptor_version for line in in_order(plan.session.descriptors)]
    most = int(number_setting(db, "session_descriptors"))
    if len(lines) > most:
        yield f"{len(lines)} descriptors stand on the sheet; the house scores {most} at most."
    if plan.session.manner is Manner.NOSE:
        later = [line.descriptor.name for line in lines if line.stage is not Stage.NOSE]
        if later:
            yield f"the glasses are only nosed, but {', '.join(later)} can only be tasted."


def _liquid_warnings(plan: Blueprint, liquid: Liquid) -> Iterator[str]:
    for hold in liquid.holds:
        yield f"{hold}; {liquid.label} may be nosed all the same."
    if liquid.phenol_ppm is None:
        yield f"the peat of {liquid.label} is not known; it is served among the unpeated glasses."
    if liquid.strength is None:
        return
    if liquid.strength.old:
        yield f"the strength of {liquid.label} is old: {liquid.strength.words()}. Measure it."
    if liquid.strength.abv_percent < plan.session.nosing_abv:
        yield (
            f"{liquid.label} has {tenths(liquid.strength.abv_percent)} % vol, below the nosing "
            f"strength of {in_digits(plan.session.nosing_abv, 'g')}: it is poured as it is "
            "and may stand out."
        )


def _volume_warnings(db: Session, plan: Blueprint, needs: Sequence[PourNeed]) -> Iterator[str]:
    """Say which bottles may not do; where one is poured twice, by the most that any may take.

    What one takes would tell which is poured twice, and what is planted how often it is.
    """
    planted = planted_among(db, list(plan.liquids))
    hidden, shelf = tell_a_duplicate(needs), _most_of_one(needs, planted, plan)
    for draw_id, liquid in plan.liquids.items():
        if draw_id in planted:
            continue
        mine = [need for need in needs if need.draw == liquid.label]
        wanted = sum(need.draw_ml or 0.0 for need in mine)
        if hidden and not all(need.kind in TOLD_KINDS for need in mine):
            wanted = max(wanted, shelf)
        left = liquid.volume.left_ml
        if plan.glasses_of(draw_id) and left is not None and wanted > left:
            taken = f" after {', '.join(liquid.volume.sessions)}" if liquid.volume.sessions else ""
            takes = "may take" if hidden else "takes"
            yield (
                f"{liquid.label} has {left:.0f} mL{taken}; the session {takes} {wanted:.0f} mL, "
                "with loss and the retained sample."
            )


def _most_of_one(needs: Sequence[PourNeed], planted: Collection[int], plan: Blueprint) -> float:
    """Return the most that any draw takes of which it is not told how often it is poured."""
    labels = {plan.liquids[draw_id].label for draw_id in planted}
    taken: dict[str, float] = {}
    for need in needs:
        if need.kind not in TOLD_KINDS and need.draw not in labels:
            taken[need.draw] = taken.get(need.draw, 0.0) + (need.draw_ml or 0.0)
    return max(taken.values(), default=0.0)


def _peat_warnings(db: Session, plan: Blueprint) -> Iterator[str]:
    tests = [g for g in plan.glasses if g.kind not in (GlassKind.REFERENCE, GlassKind.WARM_UP)]
    classes = [peat_class(glass.phenol_ppm) for glass in tests]
    if len(set(classes)) > 1:
        yield SMOKE_SAID[plan.order.peat]
        if plan.order.last_from is None and (fault := _long_since(db, plan)):
            yield fault
    for reference in (g for g in plan.glasses if g.kind is GlassKind.REFERENCE):
        if peat_class(reference.phenol_ppm) > min(classes):
            yield "the reference is smokier than the first glasses, so it cannot stand among them."
            return


def _long_since(db: Session, plan: Blueprint) -> str | None:
    """Say when nobody has lately looked what smoke leaves behind for an unpeated glass."""
    day = plan.session.held_on
    last = db.scalar(
        select(func.max(PanelSession.held_on))
        .join(PlannedWay, PlannedWay.session_id == PanelSession.id)
        .where(
            PlannedWay.after_peat,
            PanelSession.status != SessionStatus.DRAFT,
            PanelSession.id != plan.session.id,
            PanelSession.rehearsal.is_(False),
        )
    )
    if day is None or (last is not None and abs((day - last).days) <= A_QUARTER_DAYS):
        return None
    since = "yet" if last is None else f"since {last}"
    return (
        f"no unpeated glass was poured once more after the smoke {since}: do it once a quarter "
        "(the duplicate after the peat), and what smoke leaves behind can be reckoned."
    )

"""How much a morning of passing can take: casks on a tray, blocks a day, and who shares them."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import DrawKind
from panel.session.codes import shuffled
from panel.session.passing_blocks import Amounts, n_repeats
from panel.session.passing_mornings import left_of_parcel
from panel.session.passing_parcel import FEWEST_UNAWARE
from panel.store.house import number_setting
from panel.store.people import Person
from panel.store.planted import planted_among, standing_holds
from panel.store.sessions import PanelSession, SessionAssessor

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.plan_parts import PlanParts, SessionPlan

MOST_CASKS = 60
FEW_CASKS = 20


def amounts_of(db: Session) -> Amounts:
    """Return the house's settings of passing."""
    return Amounts(
        block=int(number_setting(db, "passing_block_glasses")),
        most_blocks=int(number_setting(db, "passing_blocks_a_day")),
        spikes_a_block=number_setting(db, "passing_spikes_a_block"),
        sound_a_block=number_setting(db, "passing_sound_a_block"),
        repeat_share=number_setting(db, "passing_repeat_share"),
    )


def shared(plan: SessionPlan, rng: random.Random) -> Mapping[str, tuple[str, ...]]:
    """Return the casks of each nose: all, those assigned, or a share that chance deals.

    Where shares are dealt, every cask lies on a tray, and on about as many as any other.
    """
    each = plan.glasses_each
    if each is None:
        return plan.trays
    heap = shuffled(plan.draws, rng)
    return {
        who: tuple(heap[(seat * each + place) % len(heap)] for place in range(each))
        for seat, who in enumerate(plan.assessors)
    }


def size_faults(db: Session, plan: SessionPlan, parts: PlanParts) -> Iterator[str]:
    """Give what is too much for a morning or a tray, and what cannot be passed at all."""
    yield from _too_many(plan, amounts_of(db), more_wait=_more_wait(db, plan))
    yield from _unshared(plan)
    planted = planted_among(db, [draw.id for draw in parts.draws])
    for draw in parts.draws:
        if draw.id in planted:
            yield f"{draw.label!r} is kept to be planted: it cannot be passed in the same breath."
        elif draw.kind is not DrawKind.CASK:
            yield f"{draw.label!r} comes from no cask: casks are passed."
    again_of = plan.passing.again_of if plan.passing else None
    if again_of:
        yield from _again_faults(db, plan, again_of)
    if again_of or _some_held(db, parts):
        yield from _aware_faults(plan)


def _sizes(plan: SessionPlan) -> list[int]:
    return [plan.glasses_each or len(own) for own in plan.trays.values()]


def _too_many(plan: SessionPlan, amounts: Amounts, *, more_wait: bool) -> Iterator[str]:
    largest, most = max(_sizes(plan), default=0), _most_a_tray(amounts)
    glasses = largest + n_repeats(largest, amounts.repeat_share)
    blocks = -(-glasses // amounts.block)
    if largest > MOST_CASKS:
        yield (
            f"{largest} casks on one tray; a nose passes {MOST_CASKS} a morning at the most. "
            f"{_way_out(plan, most, more_wait=more_wait)}"
        )
    elif blocks > amounts.most_blocks:
        yield (
            f"{glasses} glasses take {blocks} blocks of {amounts.block}; the house serves "
            f"{amounts.most_blocks} a day. {_way_out(plan, most, more_wait=more_wait)}"
        )


def _most_a_tray(amounts: Amounts) -> int:
    """Return how many casks a nose can pass in a morning of this house."""
    glasses = amounts.block * amounts.most_blocks
    fits = (
        n for n in range(MOST_CASKS, 0, -1) if n + n_repeats(n, amounts.repeat_share) <= glasses
    )
    return next(fits, 1)


def _way_out(plan: SessionPlan, most: int, *, more_wait: bool) -> str:
    if more_wait:
        first = (
            f"Take the next {most} that no morning has taken (--casks {most}; the field Casks): "
            "the plan after it takes those that are left"
        )
    else:
        first = (
            f"Name {most} or fewer (--draw; the field Draws), with no parcel, and plan the rest "
            "for another morning"
        )
    noses, casks = len(plan.assessors), len(plan.draws)
    each = -(-casks // noses) if noses else casks
    if plan.glasses_each is None and noses > 1 and each <= most:
        return f"{first}. Or share them: {each} a nose (--each {each}; the field Draws each)."
    return f"{first}."


def _more_wait(db: Session, plan: SessionPlan) -> bool:
    """Tell whether casks of the parcel wait that no other morning has taken."""
    parcel = plan.passing.parcel if plan.passing else None
    if parcel is None or plan.held_on is None:
        return False
    return bool(left_of_parcel(db, parcel, plan.held_on, besides=plan.name))


def _unshared(plan: SessionPlan) -> Iterator[str]:
    """A cask that nobody noses is not passed by a plan that names it."""
    each, noses, casks = plan.glasses_each, len(plan.assessors), len(plan.draws)
    if each is not None and noses and each * noses < casks:
        enough = -(-casks // noses)
        yield (
            f"{noses} noses with {each} each leave {casks - each * noses} of {casks} casks "
            f"that nobody noses: give each {enough}, or take fewer casks."
        )


def _some_held(db: Session, parts: PlanParts) -> bool:
    fillings = {draw.filling_id for draw in parts.draws if draw.filling_id is not None}
    return bool(standing_holds(db, fillings))


def _aware_faults(plan: SessionPlan) -> Iterator[str]:
    """A nose that gets few casks knows that some were held; unaware it repeats, or clears, them."""
    least = min(_sizes(plan), default=0)
    if least < FEWEST_UNAWARE:
        yield (
            f"{least} casks on a tray, some of them held: whoever noses so few knows that, and a "
            f"second nose must not. Add casks that nobody held (--draw) until there are "
            f"{FEWEST_UNAWARE}, or wait for more holds."
        )


def _again_faults(db: Session, plan: SessionPlan, first: str) -> Iterator[str]:
    """Nobody is their own second nose."""
    seats = (
        select(Person.code)
        .join(SessionAssessor, SessionAssessor.person_id == Person.id)
        .join(PanelSession, PanelSession.id == SessionAssessor.session_id)
        .where(PanelSession.name == first)
    )
    for code in sorted(set(db.scalars(seats)) & set(plan.assessors)):
        yield f"{code} nosed in {first}: a second nose is another person."

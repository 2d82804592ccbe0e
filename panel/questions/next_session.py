"""What to nose next: the four questions put to the house's records."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import timedelta
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.errors import OakpanelError, UnknownRecord
from panel.questions.next_planners import VatAsked, first_planner, planner_of
from panel.questions.next_wanted import NextWanted
from panel.questions.session_room import room_asked
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import NextSession, Room
    from analysis.profile import Profile

TIMES_OVER = 2
"""A draw is taken for twice its glasses: any of them may be the duplicate, which stays blind."""


@dataclass(frozen=True)
class ToDraw:
    """A draw that the warehouse takes before the session; the bench blend has no place."""

    cask: str | None
    shed: str | None
    row: str | None
    tier: str | None
    glasses: int
    millilitres: float | None


@dataclass(frozen=True)
class SwapPriced:
    """A cask that somebody changed for another by hand, and how much less the session saves."""

    out: str
    into: str
    price: float | None


@dataclass(frozen=True)
class NextAnswer(AsJson):
    """The next session as it is proposed to the house.

    Attributes
    ----------
    found
        Who noses what, why, what deciding now costs, and whether to stop.
    as_of
        The day of the question.
    assessors, glasses_each
        Who comes, and how many glasses each has at most beside reference and duplicate.
    draws
        Draws to be taken first, by shed; the first day on which they can be there.
    shed_price
        What going to one shed more was priced at, in the unit of the loss.
    swaps
        What was changed by hand.
    target
        The target that dates or casks are asked for; None for a record.
    planned
        The session that was planned from it.
    """

    found: NextSession
    as_of: date
    assessors: tuple[str, ...]
    glasses_each: int
    draws: tuple[ToDraw, ...]
    notice_days: int
    first_day: date
    shed_price: float
    swaps: tuple[SwapPriced, ...] = ()
    target: str | None = None
    planned: str | None = field(default=None)

    json_keys = (
        *(("found", "**"), "as_of", "target", "assessors", "glasses_each", "draws"),
        *("notice_days", "first_day", "shed_price", "swaps", "planned"),
    )


def next_session(
    db: Session,
    wanted: NextWanted,
    *,
    as_of: date,
    profile: Profile | None = None,
    vat: VatAsked | None = None,
) -> NextAnswer:
    """Return what to nose next for a question.

    Raises
    ------
    UnknownRecord
        A target, a make, a person or a cask that is named is not on record.
    PlanRefused
        The session has no room for what is asked.
    OakpanelError
        A cask of a swap is barred.
    """
    from panel.kept.answers import kept_answer, once
    from panel.kept.stock_records import stock_state
    from panel.questions.mixing_rules import mixing_rule
    from panel.questions.profile import house_profile
    from panel.store.nosed import any_nosed

    wanted = _with_target(db, wanted)
    about = vat.aim.name if vat is not None else wanted.target
    room = once(lambda: _room_of(db, wanted, vat, as_of))
    if not any_nosed(db, as_of):
        plan = first_planner(db, wanted, as_of)
        return replace(_answered(db, wanted, room(), plan, as_of), target=about)
    known = profile or house_profile(db, as_of=as_of)
    aim = vat.aim if vat is not None else _aim_of(db, wanted)
    found = kept_answer(
        db,
        "next",
        options=[as_of, repr(wanted), repr(aim), None if vat is None else vat.told],
        reads=lambda: (stock_state(db, as_of), repr(room()), repr(mixing_rule(db))),
        reckon=lambda: _answered(
            db, wanted, room(), planner_of(db, wanted, known, as_of, aim, vat), as_of
        ),
        profile=known,
    )
    return replace(found, target=about)


def _with_target(db: Session, wanted: NextWanted) -> NextWanted:
    """Put the house's only target where a make is asked about for none."""
    from panel.questions.targets import target_names

    if wanted.make is None or wanted.target is not None:
        return wanted
    names = target_names(db)
    if len(names) != 1:
        raise UnknownRecord(
            f"Ready for which target? Name one of {', '.join(names) or 'none yet: load them'}."
        )
    return replace(wanted, target=names[0])


def _aim_of(db: Session, wanted: NextWanted) -> object:
    from panel.frames import target_of

    return None if wanted.target is None else target_of(db, wanted.target)


def _room_of(db: Session, wanted: NextWanted, vat: VatAsked | None, as_of: date) -> Room:
    from analysis.next_glasses import BLEND

    room = room_asked(db, wanted.room, on=as_of)
    if vat is None or vat.bench is None:
        return room
    samples = {**room.samples, BLEND: vat.bench}
    glasses = room.glasses if vat.glasses is None else {**room.glasses, BLEND: vat.glasses}
    return replace(room, samples=samples, glasses=glasses)


def _answered(
    db: Session,
    wanted: NextWanted,
    room: Room,
    plan: Callable[[Room], NextSession],
    as_of: date,
) -> NextAnswer:
    found = plan(room)
    price = 0.0
    if share := _far_shed_share(db, found):
        price = share * (found.saves or 0.0)
        room = replace(room, shed_price=share * found.added)
        found = plan(room)
    states = {s.cask: s for s in filling_states(db, as_of) if s.emptied_on is None}
    found, swaps = _swapped(wanted, room, found, plan, states)
    draws = tuple(_draws(db, found, states))
    notice = int(number_setting(db, "draw_notice_days"))
    return NextAnswer(
        found=found,
        as_of=as_of,
        assessors=room.assessors,
        glasses_each=max(room.seats.values(), default=0),
        draws=draws,
        notice_days=notice,
        first_day=as_of + timedelta(days=notice) if draws else as_of,
        shed_price=price,
        swaps=swaps,
    )


def _far_shed_share(db: Session, found: NextSession) -> float:
    """Return what one shed more costs: so many glasses, as a share of those of the session."""
    if not found.glasses or len({one.shed for one in found.casks if one.shed}) < 2:
        return 0.0
    return number_setting(db, "far_shed_glasses") / len(found.glasses)


def _swapped(
    wanted: NextWanted,
    room: Room,
    found: NextSession,
    plan: Callable[[Room], NextSession],
    states: dict[str, FillingState],
) -> tuple[NextSession, tuple[SwapPriced, ...]]:
    from analysis.next_glasses import price_of_swap

    done: list[SwapPriced] = []
    gone: frozenset[str] = frozenset()
    for out, into in wanted.swaps:
        _check(found, into, states)
        swap = price_of_swap(found, replace(room, without=room.without | gone), out, into, plan)
        if not any(one.cask == into for one in swap.session.casks):
            raise OakpanelError(f"No glass of {into} can be poured: its sample gives none.")
        gone |= {out}
        found = swap.session
        done.append(SwapPriced(out, into, swap.price))
    return found, tuple(done)


def _check(found: NextSession, into: str, states: dict[str, FillingState]) -> None:
    if into not in states:
        raise UnknownRecord(f"No cask {into!r} lies in the warehouse.")
    for part in found.left_out:
        if part.cask == into:
            raise OakpanelError(f"Cask {into} cannot come in: {part.reason}.")


def _draws(db: Session, found: NextSession, states: dict[str, FillingState]) -> list[ToDraw]:
    pour, nosing = number_setting(db, "pour_ml"), number_setting(db, "nosing_abv")
    kept, retained = (
        1.0 - number_setting(db, "draw_loss_fraction"),
        number_setting(db, "retained_ml"),
    )
    made = []
    for one in found.casks:
        if not one.to_draw:
            continue
        state = states.get(one.cask or "")
        weaker = min(1.0, nosing / state.abv) if state else 1.0
        glasses = TIMES_OVER * one.n_glasses
        place = (state.place.row, state.place.tier) if state else (None, None)
        ml = None if state is None else glasses * pour / kept * weaker + retained
        made.append(ToDraw(one.cask, one.shed, *place, one.n_glasses, ml))
    return sorted(made, key=lambda d: tuple(part or "" for part in (d.shed, d.row, d.tier, d.cask)))

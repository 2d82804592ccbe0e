"""What the next session has room for: who comes, seats, samples, ethanol, peat, sheds."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.errors import PlanRefused, UnknownRecord
from panel.kinds import USUAL_KIND, Manner
from panel.questions.samples_at_hand import samples_at_hand
from panel.questions.stock_part import EVERYWHERE, StockPart, part_of
from panel.session.blueprint import glasses_a_flight
from panel.session.care import dose_limits, other_dose_that_day
from panel.session.dose import ethanol_grams
from panel.session.orders import peat_class
from panel.store.filling_states import FillingState, filling_states
from panel.store.finding import nearest_words
from panel.store.house import number_setting
from panel.store.training import panel_on

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import Room
    from panel.store.people import Person

ON_TOP = 2
"""A reference and a duplicate stand on every tray beside the glasses that are asked for."""


@dataclass(frozen=True)
class RoomAsked:
    """What is said of the next session.

    Attributes
    ----------
    only, without
        Codes of the people who come, and of those who do not; all assessors by default.
    glasses
        Glasses to tell apart on each tray, reference and duplicate on top; what one flight
        holds by default.
    casks
        Most different casks; the usual number by default.
    shelf
        Samples that are there to pour whatever was told of them.
    at_hand
        Whether only casks are poured of which a sample stands on the shelf.
    manner
        Tasted glasses are limited by the house's caps on ethanol.
    part
        Only casks of this site, warehouse, owner or parcel are poured.
    """

    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    glasses: int | None = None
    casks: int | None = None
    at_hand: bool = False
    shelf: tuple[str, ...] = ()
    manner: Manner = Manner.NOSE
    part: StockPart = EVERYWHERE


def room_asked(db: Session, asked: RoomAsked, *, on: date) -> Room:
    """Return what a session on a day has room for.

    Raises
    ------
    UnknownRecord
        Somebody is named who does not assess on that day, or a part of the stock that is none.
    PlanRefused
        The glasses cannot be served on one day, or nobody comes.
    """
    from analysis.next_glasses import POOL, Room

    people = _who_comes(db, asked, on)
    each = _glasses_each(db, asked)
    samples = samples_at_hand(db, on, named=asked.shelf)
    states = [state for state in filling_states(db, on) if state.emptied_on is None]
    there = {state.cask for state in part_of(states, asked.part)}
    grams, a_glass = _ethanol(db, asked, people, each, on)
    left = {cask: one.glasses for cask, one in samples.items() if one.glasses is not None}
    return Room(
        seats=dict.fromkeys(sorted(people), each),
        pool=POOL if asked.casks is None else asked.casks,
        samples={cask: one.label for cask, one in samples.items()},
        glasses=left,
        grams=grams,
        grams_a_glass=a_glass,
        peat={state.cask: peat_class(state.phenol_ppm or 0.0) for state in states},
        sheds=_sheds(states),
        without=frozenset(
            s.cask
            for s in states
            if s.cask not in there or (asked.at_hand and s.cask not in samples)
        ),
    )


def _sheds(states: Sequence[FillingState]) -> dict[str, str]:
    """Return where somebody has to go for each cask; a site is named where there are several."""
    several = len({state.place.site for state in states}) > 1
    return {
        state.cask: replace(
            state.place, site=state.place.site if several else None, row=None, tier=None
        ).words()
        for state in states
    }


def _who_comes(db: Session, asked: RoomAsked, on: date) -> dict[str, Person]:
    known = {person.code: person for person in panel_on(db, on)}
    for code in (*asked.only, *asked.without):
        if code not in known:
            raise UnknownRecord(
                f"Nobody of the code {code!r} assesses for the house on {on}."
                f"{nearest_words(code, known)}"
            )
    wanted = asked.only or tuple(known)
    found = {code: known[code] for code in wanted if code not in asked.without}
    if not found:
        raise PlanRefused("Nobody comes: name assessors, or give somebody the role.")
    return found


def _glasses_each(db: Session, asked: RoomAsked) -> int:
    flight = glasses_a_flight(db, USUAL_KIND, asked.manner)
    most = flight * int(number_setting(db, "flights_a_day")) - ON_TOP
    each = max(1, flight - ON_TOP) if asked.glasses is None else asked.glasses
    if not 1 <= each <= max(1, most):
        raise PlanRefused(
            f"{each} glasses each: the house serves 1 to {most} on one day beside a reference and "
            "a duplicate. Ask for fewer."
        )
    return each


def _ethanol(
    db: Session, asked: RoomAsked, people: Mapping[str, Person], each: int, on: date
) -> tuple[dict[str, float], float]:
    """Return the grams that each may still have, reference and duplicate off, and of one glass."""
    if asked.manner is not Manner.TASTE:
        return {}, 0.0
    limits = dose_limits(db)
    a_glass = ethanol_grams(number_setting(db, "pour_ml"), number_setting(db, "nosing_abv"))
    found = {}
    for code, person in people.items():
        before = other_dose_that_day(db, person.id, on, "")
        spat = min(limits.session_grams, limits.day_grams - before.spat_grams) / limits.spat_share
        all_of_it = limits.day_swallowed_grams - before.swallowed_grams
        most = min(spat, limits.session_swallowed_grams, all_of_it)
        found[code] = max(0.0, most - ON_TOP * a_glass)
    return found, a_glass

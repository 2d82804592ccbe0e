"""What would change your mind: which picks the next session, or a single glass, may move."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.next_glasses import Change
    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import Limits, Stock
    from panel.questions.vatting import HouseStock


def would_change(
    db: Session,
    target: str | Target,
    picks: Sequence[str],
    *,
    as_of: date,
    profile: Profile | None = None,
    house: HouseStock | None = None,
    limits: Limits | None = None,
    seed: int = 1,
) -> tuple[Change, ...]:
    """Return what the next session could change about some picks, the likeliest first.

    The session is the one that tells most about them, in the room that the house has for it.

    Parameters
    ----------
    house
        The stock that they were picked from; that of the day by default.
    limits
        What a vatting was held to: only casks that might go in by them count then.
    """
    from analysis.next_glasses import what_would_change
    from panel.frames import target_of
    from panel.kept.answers import kept_answer, once
    from panel.kept.stock_records import stock_state
    from panel.questions.next_planners import known_of, next_settings
    from panel.questions.profile import house_profile
    from panel.questions.session_room import RoomAsked, room_asked

    aim = target_of(db, target) if isinstance(target, str) else target
    known = profile or house_profile(db, as_of=as_of)
    room = once(lambda: room_asked(db, RoomAsked(), on=as_of))

    def reckoned() -> tuple[Change, ...]:
        notes = [line.descriptor for line in aim.lines]
        of_casks = known_of(db, known, as_of, notes, house=house)
        there = [cask for cask in picks if cask in of_casks.stock.position]
        return what_would_change(
            *(of_casks, aim, there, room()),
            settings=next_settings(db),
            among=None if limits is None else may_go_in(of_casks.stock, notes, limits),
            seed=seed,
        )

    own = None if house is None else (house.day, len(house.stock))
    return kept_answer(
        db,
        "mind",
        options=[as_of, repr(aim), list(picks), seed, repr(own), repr(limits)],
        reads=lambda: (stock_state(db, as_of), repr(room())),
        reckon=reckoned,
        profile=known,
    )


def may_go_in(stock: Stock, notes: Sequence[str], limits: Limits) -> frozenset[str]:
    """Return the casks that might go into a vatting by its limits, the bars among them."""
    from analysis.vatting.eligible import eligible_casks

    rows = eligible_casks(stock, tuple(notes), limits).rows
    return frozenset(str(stock.names[row]) for row in rows)

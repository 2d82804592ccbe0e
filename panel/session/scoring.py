"""The rules at the glass: what is next, what is left, which order, how long the pause.

Pure functions of a tray and a moment; they know no database and no screen.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil

from panel.errors import WrongGlass
from panel.store.booth_tray import Glass, Tray, stopped_words

CODE_DIGITS = 3


@dataclass(frozen=True)
class Left:
    """How far an assessor is. A withdrawn glass counts nowhere."""

    flight: int
    flights: int
    done_in_flight: int
    glasses_in_flight: int
    done: int
    glasses: int


def poured(tray: Tray) -> tuple[Glass, ...]:
    """Return the glasses that are to be scored, in the planned order."""
    usable = (glass for glass in tray.glasses if not glass.withdrawn and not glass.poured_again)
    return tuple(sorted(usable, key=_planned_place))


def _planned_place(glass: Glass) -> tuple[int, int, int]:
    return glass.flight, glass.position, glass.serving_id


def glass_in_hand(tray: Tray) -> Glass | None:
    """Return the glass that was taken and not finished."""
    return next((g for g in poured(tray) if g.taken_at and not g.finished_at), None)


def planned_next(tray: Tray) -> Glass | None:
    """Return the first glass in the planned order that nobody has taken yet."""
    return next((glass for glass in poured(tray) if glass.taken_at is None), None)


def poured_anew(before: Tray, now: Tray) -> tuple[str, ...]:
    """Return the codes of which a new glass was poured since *before*."""
    known = {glass.serving_id for glass in before.glasses}
    return tuple(
        glass.code for glass in poured(now) if glass.pouring > 1 and glass.serving_id not in known
    )


def poured_anew_words(code: str) -> str:
    """Return what the assessor does about a glass that was poured again."""
    return f"{code} was poured again. Take the new glass and type its code."


def glass_of(tray: Tray, code: str) -> Glass:
    """Return the glass under *code*, the newest pouring where it was poured again.

    A pouring that the lead took back gives way to the one before it.

    Raises
    ------
    WrongGlass
        No such code on this tray, or the lead took the glass out.
    """
    under = [glass for glass in tray.glasses if glass.code == code]
    if not under:
        raise WrongGlass(f"{code} is not on your tray. Look at the glass again.")
    standing = [glass for glass in under if not glass.withdrawn and not glass.poured_again]
    newest = max(standing or under, key=lambda glass: glass.pouring)
    if newest.stopped:
        raise WrongGlass(stopped_words(code))
    if newest.withdrawn:
        raise WrongGlass(f"The lead took {code} out. Leave it and take another glass.")
    if newest.poured_again:
        raise WrongGlass(f"{code} is being poured again. Wait for the new glass.")
    return newest


def may_take(tray: Tray, code: str, now: datetime) -> Glass:
    """Return the glass under *code* if it may be taken up now, for the first time or again.

    Raises
    ------
    WrongGlass
        It may not; the sentence says why and what to do.
    """
    glass = glass_of(tray, code)
    if needs_words(tray):
        raise WrongGlass("Name at least one word of your own first: o shows your words.")
    in_hand = glass_in_hand(tray)
    if in_hand is not None and in_hand != glass:
        raise WrongGlass(f"{in_hand.code} is still in your hand. Put it down first.")
    if glass.finished_at is not None:
        return _again(tray, glass)
    if glass.taken_at is None and pause_left_s(tray, now) > 0:
        # No time in it: it stays where it is said, and the pause runs on beside it.
        raise WrongGlass("The pause still runs: wait until it is over.")
    return glass


def _again(tray: Tray, glass: Glass) -> Glass:
    if not tray.may_go_back:
        raise WrongGlass(
            f"{glass.code} is finished, and this session does not go back to a glass. "
            "Call the lead if a score is wrong."
        )
    if glass not in open_to_return(tray):
        raise WrongGlass(f"{glass.code} belongs to a flight that is over.")
    return glass


def open_to_return(tray: Tray) -> tuple[Glass, ...]:
    """Return the finished glasses of this flight, where the session lets people go back."""
    if not tray.may_go_back:
        return ()
    flight = last_flight(tray)
    return tuple(g for g in poured(tray) if g.finished_at is not None and g.flight == flight)


def last_flight(tray: Tray) -> int:
    """Return the flight that the glass taken last belongs to; before any, the first one."""
    taken = [glass for glass in tray.glasses if glass.taken_order is not None]
    if taken:
        return max(taken, key=lambda glass: glass.taken_order or 0).flight
    return min((glass.flight for glass in tray.glasses), default=1)


def lines_at_low(tray: Tray, serving_id: int) -> frozenset[int]:
    """Return the lines of a glass that stand at their low end."""
    low = {line.version_id: line.low for line in tray.lines}
    given = (glass.scores for glass in tray.glasses if glass.serving_id == serving_id)
    return frozenset(
        line for scores in given for line, kept in scores.items() if kept.value == low.get(line)
    )


def needs_words(tray: Tray) -> bool:
    """Say whether the assessor has yet to name a first word of their own."""
    return tray.own is not None and not tray.lines


def order_said(tray: Tray, glass: Glass) -> str | None:
    """Return what to say about taking *glass* out of the planned order, or None."""
    planned = planned_next(tray)
    if planned is None or glass.taken_at is not None or glass == planned:
        return None
    return f"{planned.code} comes before {glass.code} on your tray."


def pause_left_s(tray: Tray, now: datetime) -> int:
    """Return the seconds until the next glass may be taken; the same pause after every glass.

    Where a session has air between its blocks, that is the pause once a block is done. A glass
    that was put down further ahead than a pause lasts was so before the clock was set back: nobody
    waits for that hour to come again. Clocks of two booths differ by less.
    """
    pause_s = max(tray.pause_s, tray.air_s) if _block_is_done(tray) else tray.pause_s
    ahead = now + timedelta(seconds=pause_s)
    put_down = (glass.finished_at for glass in tray.glasses if glass.finished_at is not None)
    finished = [at for at in put_down if at <= ahead]
    if not finished:
        return 0
    passed = (now - max(finished)).total_seconds()
    return min(max(ceil(pause_s - passed), 0), pause_s)


def _block_is_done(tray: Tray) -> bool:
    flight = last_flight(tray)
    return all(glass.finished_at is not None for glass in poured(tray) if glass.flight == flight)


def left(tray: Tray) -> Left:
    """Return how many glasses are done, of the flight at hand and of all."""
    glasses = poured(tray)
    at = glass_in_hand(tray) or planned_next(tray)
    flight = at.flight if at is not None else last_flight(tray)
    of_flight = [glass for glass in glasses if glass.flight == flight]
    flights = sorted({glass.flight for glass in glasses} | {flight})
    return Left(
        flight=flights.index(flight) + 1,
        flights=len(flights),
        done_in_flight=_done(of_flight),
        glasses_in_flight=len(of_flight),
        done=_done(glasses),
        glasses=len(glasses),
    )


def _done(glasses: list[Glass] | tuple[Glass, ...]) -> int:
    return sum(glass.finished_at is not None for glass in glasses)


def minutes(seconds: int) -> str:
    """Return a wait as it stands on a clock: 1:05."""
    return f"{seconds // 60}:{seconds % 60:02d}"

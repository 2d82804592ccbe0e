"""Between two glasses: what is left, how long the pause lasts, what is wrong with a code typed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING

from panel.seat.said import NO_GOING_BACK
from panel.session import scoring
from panel.store.booth_tray import stopped_words

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Tray


class Typed(Enum):
    """What a code that may be taken up stands for."""

    READY = "on the tray"
    OUT_OF_ORDER = "another comes before"
    FINISHED = "finished before"


@dataclass(frozen=True)
class Judged:
    """A code that may be taken up, and what is said of it."""

    typed: Typed
    said: str


def judged(tray: Tray, code: str, now: datetime) -> Judged:
    """Judge a code of three digits before it is taken up.

    Raises
    ------
    WrongGlass
        It may not be taken up; the sentence says why.
    """
    glass = scoring.may_take(tray, code, now)
    if glass.finished_at is not None:
        return Judged(Typed.FINISHED, f"{code} is finished.")
    if order := scoring.order_said(tray, glass):
        return Judged(Typed.OUT_OF_ORDER, order)
    return Judged(Typed.READY, f"{code} is on your tray.")


def left_words(tray: Tray) -> str:
    """Return how far the assessor is."""
    done = scoring.left(tray)
    if tray.held_as.facts.in_sets:
        answered = sum(all(g.finished_at for g in of) for of in _by_set(tray))
        return f"{answered} of {len(_by_set(tray))} sets answered"
    here = f"{done.done_in_flight} of {done.glasses_in_flight} glasses done"
    if done.flights == 1:
        return here
    if tray.held_as.facts.passes:  # how many there are in all would tell how many are planted
        return f"{flight_word(tray)} {done.flight}: {here}"
    words = f"{flight_word(tray)} {done.flight} of {done.flights}: {here}"
    return f"{words}; {done.done} of {done.glasses} in all"


def flight_word(tray: Tray) -> str:
    """Return what the glasses are called that are nosed one after the other."""
    return "Block" if tray.held_as.facts.passes else "Flight"


def _by_set(tray: Tray) -> list[list[Glass]]:
    found: dict[int, list[Glass]] = {}
    for glass in scoring.poured(tray):
        found.setdefault(glass.flight, []).append(glass)
    return list(found.values())


def glasses_done(tray: Tray) -> int:
    """Return how many glasses are done."""
    return scoring.left(tray).done


def all_done(tray: Tray) -> bool:
    """Say whether every glass is done."""
    done = scoring.left(tray)
    return done.done == done.glasses


def asked_words(tray: Tray) -> str:
    """Return what to do now."""
    if all_done(tray):
        return "All your glasses are done. Thank you. The lead closes the session."
    if tray.held_as.facts.marks_reference:
        return "Type the three digits on the reference, the first glass of your next set."
    if tray.held_as.facts.in_sets:
        return "Type the three digits on the first glass of your next set."
    return "Type the three digits on the glass in your hand."


def wait_s(tray: Tray, now: datetime) -> int:
    """Return the seconds of pause that are left before a glass that is still to come."""
    if scoring.planned_next(tray) is None:
        return 0
    return scoring.pause_left_s(tray, now)


def pause_words(tray: Tray, now: datetime) -> str:
    """Return how the pause stands."""
    if wait := wait_s(tray, now):
        pause = "Air" if tray.air_s else "Pause"
        what = "set" if tray.held_as.facts.in_sets else "glass"
        return f"{pause}: the next {what} in {scoring.minutes(wait)}"
    return pause_over(tray)


def pause_over(tray: Tray) -> str:
    """Return what is said once the pause is over; nothing before the first glass or at the end."""
    taken = any(glass.finished_at for glass in tray.glasses)
    more = scoring.planned_next(tray) is not None
    return "The pause is over." if taken and more else ""


def next_words(tray: Tray) -> str:
    """Say the next code in the planned order."""
    glass = scoring.planned_next(tray)
    if glass is None:
        return "Nothing is left on your tray."
    warm_up = " (the warm-up glass)" if glass.warm_up else ""
    return f"Next on your tray: {glass.code}{warm_up}."


def return_words(tray: Tray) -> str:
    """Say which glasses may be taken up again."""
    again = scoring.open_to_return(tray)
    if again:
        codes = ", ".join(glass.code for glass in again)
        return f"Type the code of the glass to go back to: {codes}."
    if tray.may_go_back:
        return "No glass of this flight is finished yet."
    return NO_GOING_BACK


def waiting_anew(tray: Tray) -> str:
    """Return what to do about glasses that were poured again and not taken yet, if any were."""
    anew = (g.code for g in scoring.poured(tray) if g.pouring > 1 and g.taken_at is None)
    return " ".join(map(scoring.poured_anew_words, anew))


def poured_anew_words(before: Tray, now: Tray) -> str:
    """Return what to do about glasses that were poured again since *before*, if any were."""
    return " ".join(map(scoring.poured_anew_words, scoring.poured_anew(before, now)))


def stopped_last(tray: Tray) -> str:
    """Say that the glass taken last was stopped while it was in hand, by whoever called it."""
    taken = [glass for glass in tray.glasses if glass.taken_order is not None]
    last = max(taken, key=lambda glass: glass.taken_order or 0, default=None)
    gone = last is not None and last.stopped and last.finished_at is None
    return stopped_words(last.code) if last is not None and gone else ""

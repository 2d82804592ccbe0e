"""The rules at a trace: which second is asked for next, and what an answer to it is.

Pure functions of a tray; they know no database and no screen. The first answer is given with the
sip, so that the clock begins with it; each later one keeps the second at which it was really given.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from panel.errors import BoothError, WrongGlass
from panel.session.scoring import glass_in_hand
from panel.store.booth_tray import LATEST_S, SPIT_S, Glass, Tray, second_of

__all__ = [
    "EARLY_S",
    "FIRST",
    "SIP_FIRST",
    "SPIT_S",
    "answers_of",
    "checked_second",
    "is_last",
    "next_prompt",
    "prompts_of",
    "second_asked",
    "since_sip_s",
]
FIRST = 1
EARLY_S = 1.0
"""So far before its second an answer is taken: clocks of a browser and of the house differ."""
SIP_FIRST = "The minute begins with the answer at 0 s, given as you sip: answer that one first."


def prompts_of(tray: Tray) -> tuple[int, ...]:
    """Return the seconds that are asked for."""
    return tray.held_as.facts.prompts_s


def answers_of(tray: Tray, glass: Glass) -> dict[int, tuple[int, float | None]]:
    """Return what is kept of a glass, by prompt: the key, and the second it was given at."""
    found: dict[int, tuple[int, float | None]] = {}
    for number in range(FIRST, FIRST + len(prompts_of(tray))):
        if kept := glass.scores.get(number):
            at = glass.scores.get(second_of(number))
            found[number] = (round(kept.value), None if at is None else at.value)
    return found


def next_prompt(tray: Tray, answered: Mapping[int, object]) -> int | None:
    """Return the first prompt without an answer, None once all have one."""
    every = range(FIRST, FIRST + len(prompts_of(tray)))
    return next((number for number in every if number not in answered), None)


def second_asked(tray: Tray, number: int) -> int:
    """Return the second of a prompt."""
    return prompts_of(tray)[number - FIRST]


def is_last(tray: Tray, number: int) -> bool:
    """Say whether the minute is over with a prompt."""
    return number == len(prompts_of(tray))


def since_sip_s(glass: Glass, now: datetime) -> float | None:
    """Return the seconds since the sip by the wall's clock, None before it.

    Where a booth was closed and opened again no other clock knows.
    """
    sip = glass.scores.get(FIRST)
    return None if sip is None else max(0.0, (now - sip.given_at).total_seconds())


def checked_second(
    tray: Tray, serving_id: int, number: int, at_s: float | None, now: datetime
) -> float:
    """Return the second that an answer is kept with; without *at_s* the wall's clock tells it.

    Raises
    ------
    WrongGlass
        The glass is not on this tray.
    BoothError
        There is no such prompt, it has an answer, its second is not there yet, or nobody sipped.
    """
    glass = glass_in_hand(tray)
    if glass is None or glass.serving_id != serving_id:
        raise WrongGlass("That glass is not in your hand now. Type its code to take it up.")
    if not FIRST <= number <= len(prompts_of(tray)):
        raise BoothError("That second is not asked for.")
    asked, answered = second_asked(tray, number), answers_of(tray, glass)
    if number in answered:
        raise BoothError(f"The answer at {asked} s is kept already; a moment is not asked twice.")
    if number == FIRST:
        return 0.0
    since = since_sip_s(glass, now)
    if since is None:
        raise BoothError(SIP_FIRST)
    second = since if at_s is None else at_s
    if not second >= 0 or second < asked - EARLY_S:
        raise BoothError(f"{asked} s is not there yet: it is asked for then.")
    return min(round(second, 2), LATEST_S)

"""The rules for own words at the booth: until when one is named, changed or taken back.

Pure functions of a tray; they know no database and no screen.
"""

from __future__ import annotations

from panel.errors import BoothError
from panel.session.scoring import last_flight, poured
from panel.store.booth_tray import Glass, Tray

FLIGHT_OVER = (
    "Your first flight is over: what is named now was not looked for in its glasses. "
    "Score on the words you have."
)


def first_flight(tray: Tray) -> tuple[Glass, ...]:
    """Return the glasses in which an assessor finds words, in the planned order."""
    glasses = poured(tray)
    flight = min((glass.flight for glass in glasses), default=1)
    return tuple(glass for glass in glasses if glass.flight == flight)


def may_still_name(tray: Tray) -> bool:
    """Say whether the first flight still runs: none of a later one was taken, one is not done."""
    flight = first_flight(tray)
    begun_later = bool(flight) and last_flight(tray) > flight[0].flight
    return not begun_later and any(glass.finished_at is None for glass in flight)


def check_naming(tray: Tray) -> None:
    """Raise BoothError where no word can be named or written anew any more."""
    if not may_still_name(tray):
        raise BoothError(FLIGHT_OVER)


def check_taking_back(tray: Tray, word_id: int) -> None:
    """Raise BoothError where the word is the only line of an evening that has begun."""
    others = [line for line in tray.lines if line.version_id != word_id]
    if not others and any(glass.taken_at is not None for glass in tray.glasses):
        raise BoothError("That is your only word, and you have begun: name another one first.")


def blank_glasses(tray: Tray, word_id: int) -> tuple[Glass, ...]:
    """Return the finished glasses without a score on a word, which was named after them."""
    return tuple(g for g in poured(tray) if g.finished_at and word_id not in g.scores)

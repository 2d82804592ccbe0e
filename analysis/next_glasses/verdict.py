"""Every sentence that judges the next session, in one place."""

from __future__ import annotations

from datetime import date

from ..digits import in_digits
from .result import Halt, NextSession, Question, Stop, Unit

_OF = {
    Question.BEST: "by that much the chosen casks are expected to be further off than the nearest",
    Question.WITHIN: "by that much a line is expected to be on the wrong side of its tolerance",
    Question.READY: "by that much the date of a cask is expected to be wrong",
    Question.RECORD: "by that much what a level stands for is expected to be wrong",
}


def on_day(asked: date | None) -> str:
    """The day that somebody asked about, in words; today where nobody named one.

    Examples
    --------
    >>> from datetime import date
    >>> on_day(None), on_day(date(2026, 6, 28))
    ('today', 'on 2026-06-28')
    """
    return "today" if asked is None else f"on {asked}"


LEAST_SHOWN = 0.01
"""What is less is told as that, and counts as nothing beside what is shown."""


def amount(value: float, unit: Unit) -> str:
    """Return a loss with its unit.

    Examples
    --------
    >>> amount(1.234, Unit.POINTS), amount(0.2, Unit.YEARS), amount(0.001, Unit.POINTS)
    ('1.23 points', '0.20 years', 'below 0.01 points')
    """
    small = value < LEAST_SHOWN
    said = in_digits(LEAST_SHOWN if small else value, ".2f")
    return f"{'below ' if small else ''}{said} {unit.value}"


def left_after(loss: float, saves: float) -> float | None:
    """Return what is left of a loss, of the two as they are shown: so the three add up.

    None where what is saved is less than is shown: then nobody can add it up, and what is left
    may be next to all or next to nothing of a loss that is as small.

    Examples
    --------
    >>> left_after(1.2349, 0.1251), left_after(0.504, 0.009)
    (1.1, None)
    """
    if saves < LEAST_SHOWN:
        return None
    return max(0.0, round(round(loss, 2) - round(saves, 2), 2))


def cost_sentence(found: NextSession, asked: date | None = None) -> str:
    """Return what deciding on the day asked about (none: today) costs, and the session saves."""
    day = on_day(asked)
    if found.expected_loss is None:
        return f"Nothing was nosed yet, so nobody can say what deciding {day} would cost."
    said = (
        f"Deciding {day} would cost {amount(found.expected_loss, found.unit)}: "
        f"{_OF[found.question]}."
    )
    if found.bottles is not None:
        said += f" In bottles: {in_digits(found.bottles, ',.0f')} that ought not to be among them."
    if not found.glasses or found.saves is None:
        return said
    who = "Going on all the same" if found.stop.stop else "The session"
    said += f" {who} is expected to save {amount(found.saves, found.unit)}"
    if found.bottles is not None and found.bottles_after is not None:
        said += f" and {in_digits(max(found.bottles - found.bottles_after, 0.0), ',.0f')} bottles"
    left = left_after(found.expected_loss, found.saves)
    return f"{said}." if left is None else f"{said}, and to leave {amount(left, found.unit)}."


def stop_sentence(found: NextSession, asked: date | None = None) -> str:
    """Return whether to stop nosing by the day asked about (none: today), and why."""
    stop = found.stop
    at = amount(stop.at, found.unit)
    words = {
        Halt.GO_ON: f"Go on nosing: the house stops at {at}.",
        Halt.TOO_EARLY: _too_early(stop),
        Halt.ENOUGH: f"Stop nosing and decide: the house stops at {at}.",
        Halt.NOTHING_LEFT: (
            f"Stop nosing: deciding costs more than the {at} at which the house stops, yet no "
            "glass that can be poured would change anything."
        ),
        Halt.CANNOT_TELL: "Cannot tell yet whether to stop: what deciding costs is not known.",
    }
    return words[stop.halt] + _little(found, asked)


_IN_SHORT = {
    Halt.GO_ON: "go on nosing",
    Halt.TOO_EARLY: "go on nosing, too few sessions were held to stop",
    Halt.ENOUGH: "stop nosing and decide",
    Halt.NOTHING_LEFT: "stop nosing, no glass that can be poured would change anything",
    Halt.CANNOT_TELL: "cannot tell yet whether to stop",
}


def stop_in_short(stop: Stop) -> str:
    """Return the same without its reasons, where there is room for a line."""
    return _IN_SHORT[stop.halt]


MANY_SESSIONS = 10
"""So many sessions that each saved as much would be no plan."""


def _little(found: NextSession, asked: date | None) -> str:
    """Return how little going on gains, where that is so: arithmetic, and no other verdict."""
    stop = found.stop
    if stop.stop or found.saves is None or found.expected_loss is None or not found.glasses:
        return ""
    over = found.expected_loss - stop.at
    if over <= 0.0 and found.saves < LEAST_SHOWN:
        of = "today's reckoning" if asked is None else f"the reckoning of {asked}"
        return (
            f" By {of} this session saves next to nothing: what speaks for it is that "
            "more sessions are held, not these glasses."
        )
    if over > 0.0 and found.saves * MANY_SESSIONS < over:
        return (
            f" Yet this one is expected to save {amount(found.saves, found.unit)} of the "
            f"{amount(over, found.unit)} to get there: {MANY_SESSIONS} that each saved as much "
            "would not do. Another question, or deciding now, may be wiser."
        )
    return ""


def _too_early(stop: Stop) -> str:
    held = "no session was" if not stop.n_sessions else f"{stop.n_sessions} were"
    if stop.n_sessions == 1:
        held = "one was"
    return (
        f"Go on nosing: before {stop.fewest} sessions what is just learned of people and stock "
        f"makes a loss look too small to stop by, and {held} held."
    )

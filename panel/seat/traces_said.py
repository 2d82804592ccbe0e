"""What a booth asks and says while a glass is traced, in the same words whatever its face."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from panel.session.scoring import left
from panel.session.traces import (
    FIRST,
    SPIT_S,
    answers_of,
    is_last,
    next_prompt,
    prompts_of,
    second_asked,
)

if TYPE_CHECKING:
    from panel.store.booth_tray import Glass, Tray

HOW = (
    "One sip, held in the mouth and spat at 10 s; nothing is swallowed. Answer at each second as "
    "it is asked for, 0 for none of it to 9 for as much as there can be. An answer that comes late "
    "counts at the second it comes."
)
FREE = "Whoever would rather not taste puts the glass down, and gives no reason."
SIP = "Ready? Sip, and answer at the same moment: the minute begins with that answer."
SPIT = "Spit now."
WAIT = "Keep on breathing as you are."
OVER = "The minute is over: rinse with water."
SHORT_S = 1.0


def note_of(tray: Tray) -> str:
    """Return what is followed."""
    return tray.lines[0].note if tray.lines else ""


def meaning(tray: Tray) -> str:
    """Return what that means, empty where the lexicon does not say."""
    words = tray.lines[0].meaning if tray.lines else ""
    return f"{note_of(tray)}: {words}" if words else ""


def ends_words(tray: Tray) -> str:
    """Return what the two ends of the keys mean."""
    line = tray.lines[0]
    return f"0 {line.low_words}, 9 {line.high_words}"


def place_words(tray: Tray, glass: Glass) -> str:
    """Return where a glass stands."""
    at = left(tray)
    return f"Glass {at.done + 1} of {at.glasses}: {glass.code}."


def asked(tray: Tray, number: int) -> str:
    """Return the question at one prompt."""
    second = second_asked(tray, number)
    if number == FIRST:
        return f"{SIP} How much {note_of(tray)} at {second} s? 0 to 9."
    return f"{second} s: how much {note_of(tray)} now? 0 to 9."


def deed_words(seconds: float | None) -> str:
    """Return what is done at a second after the sip, beside answering."""
    if seconds is None:
        return ""
    if seconds < SPIT_S:
        return "Hold it in the mouth."
    return SPIT if seconds < 2 * SPIT_S else WAIT


def until_words(tray: Tray, number: int) -> str:
    """Return what is said of a key that comes before its second."""
    return f"Not yet: {second_asked(tray, number)} s is asked for next."


def given_words(tray: Tray, answered: Mapping[int, tuple[int, float | None]]) -> str:
    """Return what was answered so far, second by second."""
    every = range(FIRST, FIRST + len(prompts_of(tray)))
    told = (
        f"{second_asked(tray, number)} s {answered[number][0] if number in answered else '-'}"
        for number in every
    )
    return "   ".join(told)


def late_words(tray: Tray, number: int, seconds: float) -> str:
    """Return what is said of an answer that came later than it was asked for, else nothing."""
    late = seconds - second_asked(tray, number)
    return f" It came at {seconds:.0f} s, and counts there." if late > SHORT_S else ""


def before_putting_down(tray: Tray, glass: Glass) -> str:
    """Return what is asked before a glass is put down whose minute is not whole."""
    done, every = len(answers_of(tray, glass)), len(prompts_of(tray))
    return f"{done} of {every} seconds are answered, and no glass is gone back to. Put it down?"


def is_over(tray: Tray, glass: Glass) -> bool:
    """Say whether nothing more is asked of a glass."""
    return next_prompt(tray, answers_of(tray, glass)) is None


def ends_with(tray: Tray, number: int) -> bool:
    """Say whether the glass is put down with the answer to a prompt: its minute is over."""
    return is_last(tray, number)

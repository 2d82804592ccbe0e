"""What an answer about sessions leaves out: scores, and sessions held before or after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import count, plural

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from analysis.agreement import Span

_MOST_NAMED = 6
"""Sessions that are named in words; a value names all."""


def before_words(result: Span) -> str:
    """Return what is left out because it was held before the first session; empty if nothing is."""
    before = result.before
    if before is None:
        return ""
    some = count(before.n_sessions, "session")
    dates = before.first if before.n_sessions == 1 else f"{before.first} to {before.last}"
    of = len(result.sessions)
    return (
        f"Left out: {some} held before ({dates}). Every chart begins at {result.first} and has "
        f"{count(of, 'session')} at most, so a move that began earlier, or "
        "that it takes more to tell, does not show here."
    )


def left_out_words(left_out: Mapping[str, int]) -> str:
    """Return which scores were not used; nothing where all were."""
    parts = ", ".join(f"{n} {reason}" for reason, n in left_out.items())
    return f"Left out: {parts}." if parts else ""


def later_words(names: Sequence[str], day: date) -> str:
    """Return which sessions an answer of a day lacks, as they are dated later; empty for none."""
    if not names:
        return ""
    some, verb = count(len(names), "session"), plural("is", len(names), "are")
    return f"{some} held after {day} {verb} left out: {_named(names)}."


def reopened_in_short(names: Sequence[str]) -> str:
    """Return which of several sessions went on after their scores could be read."""
    return f"Closed and opened again, and by then their scores could be read: {_named(names)}."


def _named(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
    return f"{', '.join(names[:_MOST_NAMED])}{more}"

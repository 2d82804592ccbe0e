"""How long a year is wherever days are made into years, and the day of an answer in words.

Standard library only. Age statements count birthdays, never this.
"""

from __future__ import annotations

from datetime import date

DAYS_A_YEAR = 365.25
"""A year on average, leap days counted in (common practice, no source)."""


def on_day(asked: date | None) -> str:
    """The day that somebody asked about, in words; today where nobody named one.

    Examples
    --------
    >>> from datetime import date
    >>> on_day(None), on_day(date(2026, 6, 28))
    ('today', 'on 2026-06-28')
    """
    return "today" if asked is None else f"on {asked}"

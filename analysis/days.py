"""How long a year is wherever days are made into years.

Standard library only. Age statements count birthdays, never this.
"""

from __future__ import annotations

DAYS_A_YEAR = 365.25
"""A year on average, leap days counted in (common practice, no source)."""

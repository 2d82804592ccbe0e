"""The one source of the present moment, so that tests can set it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

Clock = Callable[[], datetime]


def utc_now() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)


def site_date(moment: datetime, zone: str) -> date:
    """Return the calendar date of *moment* at a site in the IANA *zone*."""
    return moment.astimezone(ZoneInfo(zone)).date()

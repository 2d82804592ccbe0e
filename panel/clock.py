"""The one source of the present moment, so that tests can set it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from os import environ
from pathlib import Path
from time import monotonic
from zoneinfo import ZoneInfo, available_timezones

Clock = Callable[[], datetime]
Stopwatch = Callable[[], float]
"""Seconds that only ever go on, whatever becomes of the clock on the wall."""
TAKE_BACK = timedelta(minutes=10)
"""So long something that was done by a key or a command is taken back as if it were not."""


def utc_now() -> datetime:
    """Return the present moment in UTC."""
    return datetime.now(UTC)


def stopwatch() -> float:
    """Return seconds since some moment; only differences say anything."""
    return monotonic()


def site_date(moment: datetime, zone: str) -> date:
    """Return the calendar date of *moment* at a site in the IANA *zone*."""
    return moment.astimezone(ZoneInfo(zone)).date()


LOCAL = Path("/etc/localtime")


def machine_zone(local: Path = LOCAL) -> str:
    """Return the IANA zone that this machine is set to; UTC where it does not tell."""
    linked = str(local.resolve()).partition("/zoneinfo/")[2]
    zones = available_timezones()
    told = (environ.get("TZ", "").lstrip(":"), linked)
    return next((zone for zone in told if zone in zones), "UTC")

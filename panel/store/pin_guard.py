"""Wrong PINs in a row: five are let pass, then every further one doubles the wait."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from math import ceil

from panel.errors import BoothError, SignInRefused, SignInWaits
from panel.store.people import SignInGuard
from panel.store.pins import BLOCK, COST, LANES, SCHEME

TRIES = 5
FIRST_WAIT_S = 60
LONGEST_WAIT_S = 3600
NO_PIN = f"{SCHEME}${COST}${BLOCK}${LANES}${'00' * 16}${'00' * 32}"
"""Checked where there is no PIN, so that an unknown code takes as long as a known one."""
REFUSED = (
    "This code and this PIN do not go together. Type both again; "
    "whoever has no PIN yet gets one from the lead."
)


@dataclass
class Tries:
    """Wrong tries in a row under a code that nobody has, so that it waits like any other."""

    failures: int = 0
    wait_until: datetime | None = None


@dataclass
class Strangers:
    """The tries of codes that are not in the records, for as long as one program runs."""

    by_code: dict[str, Tries] = field(default_factory=dict)

    def tries(self, code: str) -> Tries:
        """Return the count of one typed code."""
        return self.by_code.setdefault(code.casefold(), Tries())


def waiting(tries: SignInGuard | Tries, now: datetime) -> SignInWaits | None:
    """Return the error that says how long this code waits, or None."""
    if tries.wait_until is None or tries.wait_until <= now:
        return None
    seconds = ceil((tries.wait_until - now).total_seconds())
    return SignInWaits(
        f"{tries.failures} tries in a row did not fit, so this code waits: {seconds} s to go. "
        "The lead can give a new PIN."
    )


def count_wrong(tries: SignInGuard | Tries, now: datetime) -> BoothError:
    """Count a wrong try and return what to say; while a code waits nothing is counted."""
    if waits := waiting(tries, now):
        return waits
    tries.failures += 1
    if tries.failures >= TRIES:
        doubled = FIRST_WAIT_S * 2 ** min(tries.failures - TRIES, 10)
        tries.wait_until = now + timedelta(seconds=min(doubled, LONGEST_WAIT_S))
    return waiting(tries, now) or SignInRefused(REFUSED)

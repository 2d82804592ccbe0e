"""One matter of the review: a cask, why it needs somebody, and the facts of that."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from enum import StrEnum


class Reason(StrEnum):
    """Why somebody has to go to a cask, the worst first."""

    LEAKS = "leaks"
    LOSES = "loses alcohol unexplained"
    STORE_LOSES = "store loses more than is reckoned"
    TWO_FILLINGS = "two fillings"
    CONTRADICTS = "gauges that contradict the records"
    GAINS = "unexplained gain"
    WEAK = "under the legal strength"
    FALLS = "falls under the legal strength"
    HOLD_OVER = "hold past its date"
    PROMISED = "promised and not taken"
    READY = "ready, and soon past it"
    OLD_GAUGE = "old gauge under a plan"
    NEVER_NOSED = "never nosed and wanted"
    OLD_GAUGES = "old gauges, no plan hangs on them"


RANK = {reason: place for place, reason in enumerate(Reason)}
TOLD_AS_ONE = frozenset({Reason.STORE_LOSES, Reason.OLD_GAUGES})
"""Told in one line a warehouse, whatever the parcel: no single cask needs anybody for it."""


@dataclass(frozen=True)
class Lies:
    """Where a cask lies and what it is told with; None where the records do not say."""

    site: str | None
    warehouse: str | None
    row: str | None
    tier: str | None
    owner: str | None
    parcel: str | None

    @property
    def place(self) -> str:
        """Row and tier."""
        return " ".join(part for part in (self.row, self.tier) if part)

    @property
    def way(self) -> tuple[object, ...]:
        """Its place on the way through a warehouse: row by row, and up; 10 comes after 9."""
        return tuple(_in_order(part or "") for part in (self.row, self.tier))


def _in_order(text: str) -> tuple[tuple[int, int, str], ...]:
    return tuple(
        (0, int(part), "") if part.isdecimal() else (1, 0, part.casefold())
        for part in re.split(r"(\d+)", text)
        if part
    )


@dataclass(frozen=True)
class Matter:
    """A cask and one reason why it needs somebody.

    Attributes
    ----------
    lies
        Where it lies.
    stands
        The day of the record that it stands on: a matter that was seen to comes back only with a
        newer one.
    weight
        How bad it is among its like; the larger the worse.
    about
        A target, a release, a session, another filling, or what a hold was for.
    percent_a_year, own_percent_a_year
        Of its alcohol, lost, and what its own loss is; of a store, lost and reckoned.
    since, on, earliest, latest
        The days that the reason tells of.
    years
        How old a gauge is.
    """

    reason: Reason
    filling_id: int
    filling: str
    cask: str
    lies: Lies
    stands: date
    weight: float = 0.0
    about: str | None = None
    percent_a_year: float | None = None
    own_percent_a_year: float | None = None
    since: date | None = None
    on: date | None = None
    earliest: date | None = None
    latest: date | None = None
    years: float | None = None

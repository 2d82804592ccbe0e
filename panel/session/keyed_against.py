"""What speaks against keying a seat in: it is away in a pack, or a booth kept something else of it.

Paper and booth are two records of one nose; where they differ a lead looks which is right, and
mends the file. What is alike, and what only one of them has, is no fault.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Protocol

from panel.figures import in_digits
from panel.store.site_packs import away_packs

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.booth_tray import Glass, Tray
    from panel.store.sessions import PanelSession


class Keyed(Protocol):
    """A line of a ballot: what, and the value as it was typed."""

    @property
    def what(self) -> str:
        """Which line of the sheet."""

    @property
    def value(self) -> str:
        """What was written there."""


def seats_away(db: Session, session: PanelSession) -> dict[str, str]:
    """Return by the code of each person whose seat is at another site, which site that is."""
    return {
        seat.person.code: pack.site for pack in away_packs(db, session.id) for seat in pack.seats
    }


def away_faults(db: Session, session: PanelSession, people: Collection[str]) -> Iterator[str]:
    """Say of whom nothing can be keyed in, since their seat is nosed at another site."""
    for who, site in seats_away(db, session).items():
        if who in people:
            yield (
                f"{who} is away at {site}: recall it first (`oakpanel session recall`), or leave "
                f"{who} out."
            )


def kept_otherwise(
    tray: Tray, who: str, mine: Mapping[str, Sequence[Keyed]], glasses: Mapping[str, Glass]
) -> Iterator[str]:
    """Give a sentence a glass of which a booth has kept other values than were keyed."""
    numbers = {line.name: line.version_id for line in tray.lines}
    for code, lines in mine.items():
        glass = glasses.get(code)
        if glass is None or glass.finished_at is not None:
            continue
        apart = [
            f"{line.what} {line.value}, at the booth {in_digits(kept, 'g')}"
            for line in lines
            for kept in _kept(glass, numbers.get(line.what))
            if line.value.isdecimal() and float(line.value) != kept
        ]
        if apart:
            yield f"{code} of {who} was kept otherwise: {'; '.join(apart)}. Mend the files."


def twice_otherwise(
    who: str, mine: Mapping[str, Sequence[Keyed]], *, several: Collection[str]
) -> Iterator[str]:
    """Give a sentence a line that was keyed with two values for one glass; alike may stand twice.

    What is among *several* may have any number of them.
    """
    for code, lines in mine.items():
        given: dict[str, dict[str, None]] = {}
        for line in lines:
            if line.what not in several:
                given.setdefault(line.what, {})[line.value] = None
        for what, values in given.items():
            if len(values) > 1:
                yield f"{code} of {who}: {what} has two values, {' and '.join(values)}."


def _kept(glass: Glass, line: int | None) -> Iterator[float]:
    if line is not None and line in glass.scores:
        yield glass.scores[line].value


def not_kept_yet(glass: Glass, values: Mapping[int, float | None]) -> dict[int, float | None]:
    """Return which of some values a booth has not kept of this glass: only these are written."""
    return {line: value for line, value in values.items() if line not in glass.scores}


def marked_otherwise(who: str, glass: Glass, faults: Collection[str]) -> Iterator[str]:
    """Say of a glass to pass that a booth has marked faults on it that were not keyed."""
    if glass.finished_at is None and (more := sorted(glass.faults - set(faults))):
        yield (
            f"{glass.code} of {who} was kept otherwise: {', '.join(faults) or 'passed'}, at the "
            f"booth held for {', '.join(more)}. Mend the files."
        )

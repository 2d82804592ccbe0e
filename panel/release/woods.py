"""What woods a release lay in, and which of them was a finish."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.kinds import EventKind
from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from datetime import date

    from panel.store.casks import Filling
    from panel.store.filling_states import FillingState

FINISH_MOST_YEARS = 3.0
"""A second wood of so many years at most, fewer than in the woods before, is called a finish;
common practice, no source."""


@dataclass(frozen=True)
class WoodShare:
    """What share of the vat came out of a kind of wood, by bulk.

    `before` are the woods that re-racked spirit lay in first, `years` and `years_before` the
    least that any of it spent in this wood and in those; None where it lay in this one only.
    """

    wood: str
    previous: str | None
    percent: float
    casks: int
    before: tuple[str, ...] = ()
    years: float | None = None
    years_before: float | None = None

    json_also = ("finish",)

    @property
    def finish(self) -> bool:
        """Whether the stay in this wood was short."""
        if self.years is None or self.years > FINISH_MOST_YEARS:
            return False
        return self.years_before is None or self.years < self.years_before


@dataclass(frozen=True)
class _Stay:
    wood: str
    previous: str | None
    before: tuple[str, ...]


def wood_shares(
    parts: Iterable[tuple[Filling, float]], states: Mapping[int, FillingState], on: date
) -> tuple[WoodShare, ...]:
    """Return the woods of fillings with litres, the largest first, as of the day they left."""
    by_stay: dict[_Stay, list[tuple[Filling, float]]] = defaultdict(list)
    for filling, litres in parts:
        stay = _Stay(filling.cask.wood, filling.previous, woods_before(filling))
        by_stay[stay].append((filling, litres))
    whole = sum(litres for some in by_stay.values() for _, litres in some)
    found = [_share(stay, some, whole, states, on) for stay, some in by_stay.items()]
    return tuple(sorted(found, key=lambda each: (-each.percent, each.wood, each.previous or "")))


def woods_before(filling: Filling) -> tuple[str, ...]:
    """Return the woods that a re-racked filling came out of."""
    racked = [event for event in filling.events if event.kind is EventKind.RE_RACKED]
    return tuple(sorted({event.parent.cask.wood for event in racked if event.parent is not None}))


def _share(
    stay: _Stay,
    some: list[tuple[Filling, float]],
    whole: float,
    states: Mapping[int, FillingState],
    on: date,
) -> WoodShare:
    litres = sum(each for _, each in some)
    share = WoodShare(stay.wood, stay.previous, 100.0 * litres / whole, len(some), stay.before)
    if not stay.before:
        return share
    befores = [states[f.id].years_before if f.id in states else None for f, _ in some]
    known = [years for years in befores if years is not None]
    return WoodShare(
        *(stay.wood, stay.previous, share.percent, share.casks, stay.before),
        years=min(calendar_years(filling.filled_on, on) for filling, _ in some),
        years_before=min(known) if len(known) == len(befores) else None,
    )

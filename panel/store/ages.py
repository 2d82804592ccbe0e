"""Ages by calendar, and what a re-racked filling inherits from its parents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date


def calendar_years(start: date, end: date) -> float:
    """Return years from *start* to *end*: whole ones by calendar, the rest as a share of a year.

    A cask filled on 29 February has its birthday on 28 February in common years.
    """
    if end < start:
        return -calendar_years(end, start)
    whole = end.year - start.year
    if anniversary(start, whole) > end:
        whole -= 1
    last, following = anniversary(start, whole), anniversary(start, whole + 1)
    return whole + (end - last).days / (following - last).days


def anniversary(start: date, years: int) -> date:
    """Return the date *years* whole years after *start*."""
    try:
        return start.replace(year=start.year + years)
    except ValueError:
        return start.replace(year=start.year + years, day=28)


@dataclass(frozen=True)
class Origin:
    """Where a filling's spirit comes from: a make, or parents with litres and strength."""

    filled_on: date
    phenol_ppm: float | None
    parents: Sequence[ParentShare] = ()


@dataclass(frozen=True)
class ParentShare:
    """What one parent gave."""

    filling_id: int
    given_on: date
    lpa: float


@dataclass(frozen=True)
class Inherited:
    """Age of the youngest spirit when it entered this filling, and malt phenols by LPA."""

    years_before: float
    phenol_ppm: float | None


def inheritance(origins: Mapping[int, Origin]) -> dict[int, Inherited]:
    """Return for every filling what it had on the day it was filled.

    Only days in wood count: the clock stops when spirit leaves a parent and goes on when it
    enters the child. A chain that bites its own tail (bad records) counts as unknown.
    """
    known: dict[int, Inherited] = {}
    for filling_id in origins:
        _inherit(filling_id, origins, known, frozenset())
    return known


def _inherit(
    filling_id: int,
    origins: Mapping[int, Origin],
    known: dict[int, Inherited],
    above: frozenset[int],
) -> Inherited:
    if filling_id in known:
        return known[filling_id]
    origin = origins.get(filling_id)
    if origin is None or not origin.parents or filling_id in above:
        found = Inherited(0.0, origin.phenol_ppm if origin else None)
    else:
        found = _from_parents(origin, origins, known, above | {filling_id})
    known[filling_id] = found
    return found


def _from_parents(
    origin: Origin,
    origins: Mapping[int, Origin],
    known: dict[int, Inherited],
    above: frozenset[int],
) -> Inherited:
    ages: list[float] = []
    phenols: list[tuple[float, float]] = []
    for share in origin.parents:
        before = _inherit(share.filling_id, origins, known, above)
        parent = origins.get(share.filling_id)
        stay = calendar_years(parent.filled_on, share.given_on) if parent else 0.0
        ages.append(before.years_before + stay)
        if before.phenol_ppm is not None:
            phenols.append((share.lpa, before.phenol_ppm))
    # One parent of unknown malt makes the whole unknown.
    complete = len(phenols) == len(origin.parents)
    return Inherited(min(ages), _weighted(phenols) if complete else None)


def _weighted(parts: Sequence[tuple[float, float]]) -> float | None:
    total = sum(weight for weight, _ in parts)
    if total <= 0:
        return None
    return sum(weight * value for weight, value in parts) / total

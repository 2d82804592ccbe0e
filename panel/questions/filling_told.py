"""A filling as JSON tells it: what lies in a cask, and what it is barred from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from analysis.bars import Bar, Purpose
from panel.questions.cask_life import FillingNow
from panel.store.stories import Place


@dataclass(frozen=True)
class FillingTold:
    """A filling as of a day, units in the names.

    Attributes
    ----------
    makes
        Every make in it; None where the records do not go back so far.
    abv_percent, lpa
        None where the strength is not certain.
    barred_from
        Each use that it may not be put to unasked, with what stands in the way.
    """

    filling: str
    make: str | None
    parcel: str | None
    makes: tuple[str, ...] | None
    phenol_ppm: float | None
    previous: str | None
    fill_number: int
    filled_on: date
    age_years: float | None
    bulk_litres: float
    abv_percent: float | None
    lpa: float | None
    topped_on: date | None
    gauged_on: date
    gauge_age_years: float
    place: Place
    owner: str | None
    hold_reason: str | None
    reserved_litres: float | None
    reserved_whole: bool
    emptied_on: date | None
    status: str
    barred_from: Mapping[Purpose, tuple[Bar, ...]]


def filling_told(now: FillingNow) -> FillingTold:
    """Return a filling's state for JSON."""
    state = now.state
    return FillingTold(
        filling=state.label,
        make=state.make,
        parcel=state.parcel,
        makes=None if state.makes is None else tuple(sorted(state.makes)),
        phenol_ppm=state.phenol_ppm,
        previous=state.previous,
        fill_number=state.fill_number,
        filled_on=state.filled_on,
        age_years=state.age_years,
        bulk_litres=state.bulk_l,
        abv_percent=state.abv if state.abv_certain else None,
        lpa=state.lpa if state.abv_certain else None,
        topped_on=state.topped_on,
        gauged_on=state.gauge.on,
        gauge_age_years=state.gauge_age_years,
        place=state.place,
        owner=state.owner,
        hold_reason=state.hold_reason,
        reserved_litres=state.reserved_l,
        reserved_whole=state.reserved_whole,
        emptied_on=state.emptied_on,
        status=now.status,
        barred_from={use: tuple(each.bar for each in why) for use, why in now.barred_from.items()},
    )

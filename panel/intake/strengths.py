"""Strengths and litres that hardly are so: asked about before they are kept."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from sqlalchemy import func, select

from panel.figures import in_digits
from panel.intake.load import Load
from panel.kinds import EventKind
from panel.store.casks import Filling, FillingEvent, standing
from panel.store.doubts import Held, drawn_doubt, litres_doubt, rise_doubt, step_doubt, weak_doubt
from panel.store.draws import Draw

ADDED = (EventKind.TOPPED, EventKind.RE_RACKED)


def check_weak(load: Load, row: int, column: str, abv: float | None) -> bool:
    """Note a strength that hardly is one in a cask, whatever the cask; say whether it is."""
    doubt = None if abv is None else weak_doubt(abv)
    if abv is not None and doubt:
        load.doubt(row, column, in_digits(abv, "g"), doubt)
    return bool(doubt)


def check_fill_strength(load: Load, row: int, filling: Filling) -> None:
    """Note a strength at filling that is hardly so, or lies far under a gauge."""
    abv = filling.fill_abv
    check_weak(load, row, "fill_abv", abv)
    for gauge in sorted(filling.regauges, key=lambda gauge: gauge.gauged_on):
        if wrong := rise_doubt(abv, gauge.abv, _added_by(filling, gauge.gauged_on)):
            words = f"the gauge of {gauge.gauged_on} has {wrong}"
            load.doubt(row, "fill_abv", in_digits(abv, "g"), words)
            return


def check_strength(
    load: Load, row: int, filling: Filling, abv: float, on: date | None, *, gauged: bool = False
) -> None:
    """Note a strength measured in a cask that is hardly so, by itself or beside others of it.

    *gauged* says that it stands in a gauge, which takes the place of another of its day.
    """
    weak = check_weak(load, row, "abv", abv)
    rise = rise_doubt(filling.fill_abv, abv, _added_by(filling, on))
    doubts = [rise]
    if on is not None and not (weak or rise):
        beside = _beside(filling, on, but_its_day=gauged)
        doubts = [step_doubt(abv, on, other) for other in beside]
    for doubt in doubts:
        if doubt:
            load.doubt(row, "abv", in_digits(abv, "g"), doubt)


def check_litres(load: Load, row: int, filling: Filling, litres: float, on: date) -> None:
    """Note gauged litres that are hardly so beside those gauged before and after."""
    for other in _beside(filling, on, but_its_day=True):
        if litres_doubt(litres, on, other, 0.0):
            taken = _taken(load, filling, min(on, other.on), max(on, other.on))
            if doubt := litres_doubt(litres, on, other, taken):
                load.doubt(row, "bulk_l", in_digits(litres, "g"), doubt)
                return


def check_drawn(load: Load, row: int, filling: Filling, millilitres: float, on: date) -> None:
    """Note a draw of more than the cask held by its last gauge."""
    held = next(iter(_beside(filling, on)), None)
    if held is not None and held.on <= on and (doubt := drawn_doubt(millilitres / 1000, held)):
        load.doubt(row, "volume_ml", in_digits(millilitres, "g"), doubt)


def _beside(filling: Filling, on: date, *, but_its_day: bool = False) -> Iterator[Held]:
    """Give what was measured last by a day and first after it, where nothing came in between."""
    told = {filling.filled_on: Held(filling.filled_on, filling.fill_abv, filling.fill_bulk_l)}
    told |= {
        each.gauged_on: Held(each.gauged_on, each.abv, each.bulk_l) for each in filling.regauges
    }
    if but_its_day:
        told.pop(on, None)
    before = max((day for day in told if day <= on), default=None)
    after = min((day for day in told if day > on), default=None)
    for day in (before, after):
        if day is not None and not _added_between(filling, min(day, on), max(day, on)):
            yield told[day]


def _added_between(filling: Filling, first: date, last: date) -> bool:
    added = (each.happened_on for each in filling.events if each.kind in ADDED)
    return any(first <= day <= last for day in added)


def _taken(load: Load, filling: Filling, since: date, until: date) -> float:
    """Return the litres that draws and other casks took from a filling between two days."""
    if filling.id is None:
        return 0.0
    drawn = select(func.sum(Draw.volume_ml)).where(
        Draw.filling_id == filling.id, Draw.drawn_on.between(since, until)
    )
    given = select(FillingEvent).where(
        standing(),
        FillingEvent.parent_filling_id == filling.id,
        FillingEvent.happened_on.between(since, until),
    )
    with load.db.no_autoflush:
        litres = (load.db.scalar(drawn) or 0.0) / 1000
        litres += sum(each.litres or 0.0 for each in load.db.scalars(given))
    return litres


def _added_by(filling: Filling, on: date | None) -> bool:
    events = (each for each in filling.events if each.kind in ADDED)
    return any(on is None or each.happened_on <= on for each in events)

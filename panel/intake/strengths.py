"""Strengths that hardly are so: asked about before they are kept."""

from __future__ import annotations

from datetime import date

from panel.figures import in_digits
from panel.intake.load import Load
from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.doubts import rise_doubt, weak_doubt

ADDED = (EventKind.TOPPED, EventKind.RE_RACKED)


def check_fill_strength(load: Load, row: int, filling: Filling) -> None:
    """Note a strength at filling that is hardly so, or lies far under a gauge."""
    abv = filling.fill_abv
    if doubt := weak_doubt(abv):
        load.doubt(row, "fill_abv", in_digits(abv, "g"), doubt)
    for gauge in sorted(filling.regauges, key=lambda gauge: gauge.gauged_on):
        if wrong := rise_doubt(abv, gauge.abv, _added_by(filling, gauge.gauged_on)):
            words = f"the gauge of {gauge.gauged_on} has {wrong}"
            load.doubt(row, "fill_abv", in_digits(abv, "g"), words)
            return


def check_strength(load: Load, row: int, filling: Filling, abv: float, on: date | None) -> None:
    """Note a strength measured in a cask that is hardly so, or hardly after its filling."""
    if doubt := weak_doubt(abv):
        load.doubt(row, "abv", in_digits(abv, "g"), doubt)
    if wrong := rise_doubt(filling.fill_abv, abv, _added_by(filling, on)):
        load.doubt(row, "abv", in_digits(abv, "g"), wrong)


def _added_by(filling: Filling, on: date | None) -> bool:
    events = (each for each in filling.events if each.kind in ADDED)
    return any(on is None or each.happened_on <= on for each in events)

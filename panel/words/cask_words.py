"""What lies in a cask, as commands and pages say it."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from panel.questions.cask_life import FillingNow


def spirit_words(now: FillingNow) -> str:
    """Return what the spirit is: its make, and the parcel that it was filled with."""
    state = now.state
    spirit = state.make or "spirit of several makes"
    return f"{spirit}, parcel {state.parcel}" if state.parcel else spirit


def state_dict(now: FillingNow) -> dict[str, Any]:
    """Return a filling's state for JSON, units in the names."""
    state = now.state
    return {
        "filling": state.label,
        "make": state.make,
        "parcel": state.parcel,
        "phenol_ppm": state.phenol_ppm,
        "previous": state.previous,
        "fill_number": state.fill_number,
        "filled_on": state.filled_on,
        "age_years": state.age_years,
        "bulk_litres": state.bulk_l,
        "abv_percent": state.abv,
        "lpa": state.lpa,
        "gauged_on": state.gauge.on,
        "gauge_age_years": state.gauge_age_years,
        "place": asdict(state.place),
        "owner": state.owner,
        "hold_reason": state.hold_reason,
        "reserved_litres": state.reserved_l,
        "reserved_whole": state.reserved_whole,
        "emptied_on": state.emptied_on,
        "status": now.status,
    }

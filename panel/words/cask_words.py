"""What lies in a cask, in the words that every list and page uses."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Protocol

if TYPE_CHECKING:
    from panel.questions.cask_life import FillingNow

NOT_ON_RECORD = "not on record"


class Spirit(Protocol):
    """What a cask holds: the make it was filled with, and all that are in it by the records."""

    @property
    def make(self) -> str | None:
        """Return the make it was filled with; None for spirit from other casks."""

    @property
    def makes(self) -> frozenset[str] | None:
        """Return every make in it; None where the records do not go back so far."""

    @property
    def parcel(self) -> str | None:
        """Return the name of what was filled together with it, if it has one."""


def age_words(age_years: float | None) -> str:
    """Return an age with its unit, or that there is none."""
    return f"age {NOT_ON_RECORD}" if age_years is None else f"{age_years:.1f} years"


def age_figure(age_years: float | None) -> str:
    """Return an age for a column of figures."""
    return "-" if age_years is None else f"{age_years:.1f}"


def spirit_words(spirit: Spirit) -> str:
    """Return which new-make spirit is in a cask, and the parcel that it was filled with."""
    words = _makes(spirit)
    return f"{words}, parcel {spirit.parcel}" if spirit.parcel else words


def _makes(spirit: Spirit) -> str:
    if spirit.makes is None:
        return f"{spirit.make} and spirit {NOT_ON_RECORD}" if spirit.make else "spirit of no record"
    return next(iter(spirit.makes)) if len(spirit.makes) == 1 else "spirit of several makes"


def make_word(spirit: Spirit) -> str:
    """Return the make for a column: one name, or that there are several."""
    if spirit.makes is None:
        return f"{spirit.make} +" if spirit.make else "not known"
    return next(iter(spirit.makes)) if len(spirit.makes) == 1 else "several"


def state_dict(now: FillingNow) -> dict[str, Any]:
    """Return a filling's state for JSON, units in the names."""
    state = now.state
    return {
        "filling": state.label,
        "make": state.make,
        "parcel": state.parcel,
        "makes": None if state.makes is None else sorted(state.makes),
        "phenol_ppm": state.phenol_ppm,
        "previous": state.previous,
        "fill_number": state.fill_number,
        "filled_on": state.filled_on,
        "age_years": state.age_years,
        "bulk_litres": state.bulk_l,
        "abv_percent": state.abv if state.abv_certain else None,
        "lpa": state.lpa if state.abv_certain else None,
        "topped_on": state.topped_on,
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

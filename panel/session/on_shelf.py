"""Whether a sample on the shelf still tells what lies in its cask, by the house's own rule."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from panel.store.ages import calendar_years

if TYPE_CHECKING:
    from panel.store.filling_states import FillingState


@dataclass(frozen=True)
class OnShelf:
    """A sample that need not be drawn: so much of it stands on the shelf."""

    cask: str
    sample: str
    drawn_on: date
    left_ml: float


def still_good(drawn_on: date | None, on: date, good_years: float) -> bool:
    """Say whether a sample is not older on a day than the house trusts one to be."""
    return drawn_on is not None and drawn_on <= on and calendar_years(drawn_on, on) <= good_years


def topped_since(state: FillingState, drawn_on: date | None) -> bool:
    """Say whether something else was poured into the cask after the sample was drawn."""
    return state.topped_on is not None and (drawn_on is None or state.topped_on >= drawn_on)

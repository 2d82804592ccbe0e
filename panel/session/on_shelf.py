"""Whether a sample on the shelf still tells what lies in its cask, by the house's own rule."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from panel.store.ages import calendar_years
from panel.store.house import number_setting

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.orm import Session

    from panel.session.blueprint import Blueprint
    from panel.store.draws import Draw
    from panel.store.filling_states import FillingState


@dataclass(frozen=True)
class OnShelf:
    """A sample that need not be drawn: so much of it stands on the shelf."""

    cask: str
    sample: str
    drawn_on: date
    left_ml: float


@dataclass(frozen=True)
class Standing:
    """A sample that was drawn before and does not do: what is left, why not, what comes after."""

    left_ml: float | None
    why: str
    new_sample: str


def still_good(drawn_on: date | None, on: date, good_years: float) -> bool:
    """Say whether a sample is not older on a day than the house trusts one to be."""
    return drawn_on is not None and drawn_on <= on and calendar_years(drawn_on, on) <= good_years


def topped_since(state: FillingState, drawn_on: date | None) -> bool:
    """Say whether something else was poured into the cask after the sample was drawn."""
    return state.topped_on is not None and (drawn_on is None or state.topped_on >= drawn_on)


def shelf_or_why(
    db: Session,
    plan: Blueprint,
    draw: Draw,
    cask: str,
    state: FillingState | None,
    needs: Sequence[float],
) -> OnShelf | str:
    """Return a sample that is there, or why it does not do.

    As much of each is asked as of the one that takes the most.
    """
    left, on = plan.liquids[draw.id].volume.left_ml, plan.session.held_on
    if draw.fate is not None:
        return f"gone: {draw.fate}"
    if left is None or on is None or draw.drawn_on is None or not needs:
        reckoned = left is not None and draw.drawn_on is not None
        return (
            f"how much is {'asked for is not known yet' if reckoned else 'left is not on record'}"
        )
    if left < max(needs):
        lacking = f"{max(needs) - left:.0f} mL of the {max(needs):.0f} asked for"
        return f"{lacking} are lacking"
    if not still_good(draw.drawn_on, on, number_setting(db, "sample_good_years")):
        return f"drawn {draw.drawn_on}, too old to tell what is in the cask"
    if state is None or topped_since(state, draw.drawn_on):
        return "the cask was topped up since"
    return OnShelf(cask, draw.label, draw.drawn_on, left)


def drawn_before(plan: Blueprint, draw: Draw, today: date) -> bool:
    """Say whether a sample is there already; one of today without a volume is drawn only now."""
    if draw.drawn_on is None or draw.drawn_on > today:
        return False
    return draw.drawn_on < today or plan.liquids[draw.id].volume.left_ml is not None

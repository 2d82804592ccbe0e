"""What lies in a cask, in the words that every list and page uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.store.filling_states import FillingState

NOT_ON_RECORD = "not on record"


def age_words(age_years: float | None) -> str:
    """Return an age with its unit, or that there is none."""
    return f"age {NOT_ON_RECORD}" if age_years is None else f"{age_years:.1f} years"


def age_figure(age_years: float | None) -> str:
    """Return an age for a column of figures."""
    return "-" if age_years is None else f"{age_years:.1f}"


def spirit_words(state: FillingState) -> str:
    """Return which new-make spirit is in a cask, as far as the records go back."""
    makes = state.inherited.makes
    if makes is None:
        return f"{state.make} and spirit {NOT_ON_RECORD}" if state.make else "spirit of no record"
    return next(iter(makes)) if len(makes) == 1 else "spirit of several makes"


def make_word(state: FillingState) -> str:
    """Return the make for a column: one name, or that there are several."""
    makes = state.inherited.makes
    if makes is None:
        return f"{state.make} +" if state.make else "not known"
    return next(iter(makes)) if len(makes) == 1 else "several"

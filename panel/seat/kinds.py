"""The seat's registry by kind of session: where in its course an assessor stands.

With what face a place is shown is the booth's to say.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import TYPE_CHECKING

from panel.kinds import SessionKind
from panel.session import scoring

if TYPE_CHECKING:
    from panel.store.booth_tray import Tray


class Place(Enum):
    """Where an assessor stands."""

    NAMING = "naming own words"
    BETWEEN = "between two glasses"
    AT_GLASS = "at a glass"


def _scoring(tray: Tray) -> Place:
    return Place.BETWEEN if scoring.glass_in_hand(tray) is None else Place.AT_GLASS


def _naming_first(tray: Tray) -> Place:
    return Place.NAMING if scoring.needs_words(tray) else _scoring(tray)


PLACES: dict[SessionKind, Callable[[Tray], Place]] = {
    SessionKind.PROFILE: _scoring,
    SessionKind.OWN_WORDS: _naming_first,
    SessionKind.PASSING: _scoring,
    SessionKind.STRONGER: _scoring,
    SessionKind.TWO_AND_TWO: _scoring,
    SessionKind.RANKING: _scoring,
    SessionKind.TRACE: _scoring,
    SessionKind.ODD_ONE_OUT: _scoring,
    SessionKind.LIKE_THE_FIRST: _scoring,
    SessionKind.STAGES: _scoring,
}


def place_of(tray: Tray) -> Place:
    """Return where the assessor of a tray stands."""
    return PLACES[tray.held_as](tray)

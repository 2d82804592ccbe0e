"""The places of the desk: which page each opens with, and the number that leads there."""

from __future__ import annotations

from collections.abc import Callable
from importlib import import_module
from typing import TYPE_CHECKING, Any

from textual.binding import Binding

from panel.desk.window import PLACES

if TYPE_CHECKING:
    from textual.screen import Screen

HOMES = {
    "sessions": ("panel.desk.sessions", "SessionsPage"),
    "casks": ("panel.desk.casks", "CasksPage"),
    "targets": ("panel.desk.targets", "TargetsPage"),
    "lexicon": ("panel.desk.lexicon", "LexiconPage"),
    "people": ("panel.desk.people", "PeoplePage"),
    "releases": ("panel.desk.releases", "ReleasesPage"),
}


def home(place: str) -> Callable[[], Screen[Any]]:
    """Return a maker of a place's first page that loads its module only then."""

    def make() -> Screen[Any]:
        module, name = HOMES[place]
        page: Screen[Any] = getattr(import_module(module), name)()
        return page

    return make


def place_keys() -> list[Binding]:
    """Return a number for each place."""
    return [
        Binding(
            str(number),
            f"go('{place}')",
            f"Go to {words}",
            show=False,
            id=f"desk.{place}",
            tooltip=f"The {words.lower()} of the house",
        )
        for number, (place, words) in enumerate(PLACES, 1)
    ]

"""What a command does is done at the desk too, or it is said why not."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from typing import Any

import click
import pytest
from textual.app import App
from textual.screen import Screen

from panel.cli.main import group
from panel.desk.reached import NOT_YET, REACHED, AtDesk, Excused


def leaves(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[str]:
    """Give every command that does something, by its whole name."""
    if not isinstance(command, click.Group):
        yield " ".join(path)
        return
    within = click.Context(command)
    for name in command.list_commands(within):
        part = command.get_command(within, name)
        assert part is not None
        yield from leaves(part, (*path, name))


def page_named(place: AtDesk) -> type[Screen[Any]]:
    page: type[Screen[Any]] = getattr(import_module(f"panel.desk.{place.module}"), place.page)
    return page


def ways_of(page: type[Screen[Any]]) -> set[str]:
    """Return the keys and offers of a page and of those it is built on, by their names."""
    found = set()
    for kind in page.__mro__:
        found |= {each.id for each in vars(kind).get("BINDINGS", ())}
        found |= {each.name for each in vars(kind).get("OFFERS", ())}
    return found


def test_every_command_has_its_place() -> None:
    commands = set(leaves(group))
    assert commands - set(REACHED) - NOT_YET == set()
    assert (set(REACHED) | NOT_YET) - commands == set()
    assert not set(REACHED) & NOT_YET


@pytest.mark.parametrize("command", [c for c, at in REACHED.items() if isinstance(at, AtDesk)])
def test_the_place_is_there(command: str) -> None:
    place = REACHED[command]
    assert isinstance(place, AtDesk)
    page = page_named(place)
    assert issubclass(page, Screen | App)
    assert place.way is None or place.way in ways_of(page)


def test_what_is_excused_says_why() -> None:
    assert all(len(at.why) > 10 for at in REACHED.values() if isinstance(at, Excused))

"""Entries that are not right, told of by the options that they were given with."""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from collections.abc import Iterator


@contextmanager
def options_named() -> Iterator[None]:
    """Tell each fault on a line of its own, behind the option of this command it is about.

    Raises
    ------
    OakpanelError
        In place of `EntriesAtFault`.
    """
    from panel.errors import EntriesAtFault, OakpanelError

    try:
        yield
    except EntriesAtFault as error:
        names = _names(click.get_current_context().command)
        told = (f"{names.get(entry, entry)}: {said}" for entry, said in error.faults.items())
        raise OakpanelError("\n".join(told)) from error


def _names(command: click.Command) -> dict[str, str]:
    """Return how somebody types each entry of a command."""
    return {
        str(each.name): each.opts[0] if isinstance(each, click.Option) else str(each.name).upper()
        for each in command.params
    }

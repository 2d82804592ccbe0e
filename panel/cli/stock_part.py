"""The options by which a command is narrowed to a part of the stock."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

from panel.questions.stock_part import FOLDS, OWN, StockPart

Command = TypeVar("Command", bound=Callable[..., Any])
_HELP = {
    "site": "Casks of this site alone.",
    "warehouse": "Casks of this warehouse alone.",
    "owner": f"Casks of this owner alone; {OWN!r} for the house's own.",
    "parcel": "Casks of this parcel alone: what was filled together.",
}


def part_options(command: Command) -> Command:
    """Add --site, --warehouse, --owner and --parcel."""
    for name in reversed(FOLDS):
        command = click.option(f"--{name}", default="", metavar="NAME", help=_HELP[name])(command)
    return command


def stock_part(*, site: str, warehouse: str, owner: str, parcel: str) -> StockPart:
    """Return what is asked by these options."""
    return StockPart(site, warehouse, owner, parcel)

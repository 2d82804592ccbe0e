"""What `load` is told of a file that the file does not tell itself."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from collections.abc import Callable

    from panel.intake.day_order import DayOrder
    from panel.intake.said import Said

ORDERS = ("day-first", "month-first")
LETTERS = ("western", "japanese")
Command = TypeVar("Command", bound="Callable[..., Any]")


def said_options(command: Command) -> Command:
    """Add the options."""
    column = click.option(
        "--column",
        "columns",
        multiple=True,
        metavar="HEADING=OURS",
        callback=_columns,
        help="A heading of the file is this column of ours; nothing after = leaves it out.",
    )
    dates = click.option(
        "--dates",
        multiple=True,
        metavar="ORDER",
        callback=_dates,
        help="day-first or month-first, where a column leaves it open; or COLUMN=ORDER.",
    )
    letters = click.option(
        "--letters", type=click.Choice(LETTERS), help="Of a file that is not UTF-8."
    )
    return column(dates(letters(command)))


def _columns(
    _ctx: click.Context, _param: click.Parameter, given: Sequence[str]
) -> dict[str, str | None]:
    found: dict[str, str | None] = {}
    for each in given:
        heading, mark, column = each.rpartition("=")
        if not mark or not heading.strip():
            raise click.BadParameter(f"{each!r} is not like Fass=cask")
        if found.setdefault(heading.strip(), column.strip() or None) != (column.strip() or None):
            raise click.BadParameter(f"{heading.strip()} is given two columns: name one")
    return found


def _dates(
    _ctx: click.Context, _param: click.Parameter, given: Sequence[str]
) -> dict[str, DayOrder]:
    from panel.intake.day_order import DayOrder

    found: dict[str, DayOrder] = {}
    for each in given:
        column, _, order = each.rpartition("=")
        if order not in ORDERS:
            raise click.BadParameter(f"{order!r} is neither {' nor '.join(ORDERS)}")
        found[column.strip()] = DayOrder(order)
    return found


def said_of_file(
    columns: Mapping[str, str | None], dates: Mapping[str, DayOrder], letters: str | None
) -> Said:
    """Return what was told."""
    from panel.intake.letters import Letters
    from panel.intake.said import Said

    return Said(columns, dates, Letters(letters) if letters else None)

"""Options of `oakpanel session plan` that say who gets which glass, and where the smoke stands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from panel.kinds import PeatOrder

if TYPE_CHECKING:
    from panel.session.assigned import Assigned

Command = TypeVar("Command", bound=Callable[..., Any])
OPTIONS = (
    click.option(
        "--assigned",
        "assigned_file",
        type=click.Path(exists=True, dir_okay=False, path_type=Path),
        metavar="FILE",
        help="Who noses which sample: a table with columns assessor and sample, one line a glass.",
    ),
    click.option(
        "--each",
        "glasses_each",
        type=int,
        metavar="N",
        help="Give each assessor N of the draws, all pairs about as often; passing: a share.",
    ),
    click.option(
        "--search",
        type=int,
        default=1,
        show_default=True,
        metavar="TIMES",
        help="Search so many times as long for even trays.",
    ),
    click.option(
        "--peat",
        type=click.Choice([order.value for order in PeatOrder]),
        help="Smoke last, anywhere, or in flights of its own; else by the number of flights.",
    ),
    click.option(
        "--after-peat", is_flag=True, help="The duplicate is unpeated and comes after the smoke."
    ),
)


def tray_options(command: Command) -> Command:
    """Let a command be told how trays are laid."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def in_what_order(peat: str | None) -> PeatOrder | None:
    """Return where the smoke stands; None where it was left open."""
    return None if peat is None else PeatOrder(peat)


def assigned_in(path: Path | None) -> tuple[Assigned, ...]:
    """Return the pairs of a file; none where there is no file.

    Raises
    ------
    PlanRefused
        It cannot be read as such a table; every fault stands in the message, one a line.
    """
    from panel.errors import PlanRefused
    from panel.session.assigned import read_assigned

    if path is None:
        return ()
    try:
        pairs, faults = read_assigned(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise PlanRefused(f"{path} cannot be read as text in UTF-8: {error}") from error
    if faults:
        raise PlanRefused("\n".join([f"{path}:", *(f"  - {fault}" for fault in faults)]))
    return pairs

"""Options by which a vatting is like a batch before: shared by `vat` and `release propose`."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from panel.cli.completing import a_release
from panel.cli.number import NUMBER

if TYPE_CHECKING:
    from panel.release.batch import AsBatch

OPTIONS = (
    click.option(
        "--as-batch",
        metavar="LOT",
        shell_complete=a_release,
        help="Like this batch before, by lot code or name, instead of TARGET's own aims.",
    ),
    click.option(
        "--within", type=NUMBER, metavar="POINTS", help="How far from it on a note; 10 as usual."
    ),
    click.option(
        "--recipe",
        type=NUMBER,
        default=10.0,
        show_default=True,
        metavar="PERCENT",
        help="How far the share of a wood or make may be from the batch before.",
    ),
    click.option("--free-recipe", is_flag=True, help="Any wood and make, with --as-batch."),
)


def as_batch_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command every option of a batch after a batch."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def read_as_batch(
    lot: str | None, within: float | None, recipe: float, *, free: bool
) -> AsBatch | None:
    """Return what a batch is to be like; None where nobody asks for one like another."""
    from panel.release.batch import AsBatch

    if lot is None:
        if within is not None or free:
            raise click.UsageError("--within and --free-recipe go with --as-batch LOT.")
        return None
    if within is not None and not 0.0 < within <= 100.0:
        raise click.BadParameter(f"{within:g} points: give 0 to 100", param_hint="--within")
    if not 0.0 <= recipe <= 100.0:
        raise click.BadParameter(f"{recipe:g} %: give 0 to 100", param_hint="--recipe")
    return AsBatch(lot, within, None if free else recipe / 100.0)

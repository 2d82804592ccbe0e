"""What is asked of the model of ageing, alike for its words and for its page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click

from panel.cli.completing import a_cask, a_note, a_target

OPTIONS = (
    click.option("--make", metavar="NAME", help="Only makes with this in their name."),
    click.option("--wood", metavar="NAME", help="Only woods with this in their name."),
    click.option(
        "--cask",
        "casks",
        multiple=True,
        metavar="NUMBER",
        help="A cask's own curves.",
        shell_complete=a_cask,
    ),
    click.option(
        "--descriptor",
        "descriptors",
        multiple=True,
        metavar="NAME",
        help="Only this note.",
        shell_complete=a_note,
    ),
    click.option(
        "--target", metavar="NAME", help="When casks meet this target.", shell_complete=a_target
    ),
    click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it."),
)
"""In the order in which the help tells them."""


def ageing_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options of a question about ageing."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command

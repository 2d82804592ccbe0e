"""`oakpanel stock`: questions of the whole stock."""

from __future__ import annotations

import click

from panel.cli.stock_plan import drop, plan, plans


@click.group("stock")
def command() -> None:
    """The whole stock: which cask for which release, over the years."""


for each in (plan, plans, drop):
    command.add_command(each)

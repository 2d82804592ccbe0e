"""An option on the wrong side of the command: say on which it stands, and show the line."""

from __future__ import annotations

import click

BEFORE = {"--by": " CODE", "--pin-file": " FILE", "--db": " FILE", "--debug": ""}
"""Options of every command, which stand before it, and what follows each."""
AFTER = ("--json", "--as-of")
"""Options of many commands, which stand after them."""


def misplaced(error: click.ClickException) -> click.ClickException:
    """Return the error that says where an option stands; any other error as it is."""
    if not isinstance(error, click.NoSuchOption) or error.ctx is None:
        return error
    name, top = error.option_name, error.ctx.parent is None
    if not top and name in BEFORE:
        words = " ".join(error.ctx.command_path.split()[1:])
        line = f"oakpanel {name}{BEFORE[name]} {words} ..."
        return click.UsageError(f"{name} stands before the command: `{line}`.", error.ctx)
    if top and name in AFTER:
        line = f"oakpanel COMMAND ... {name}"
        return click.UsageError(f"{name} stands after the command: `{line}`.", error.ctx)
    return error

"""`oakpanel schema`: what a command prints with --json, as a JSON Schema."""

from __future__ import annotations

import json

import click

from panel.cli.answers import tell


@click.command("schema")
@click.argument("name", nargs=-1, metavar="[COMMAND]")
def command(name: tuple[str, ...]) -> None:
    """Print the JSON Schema of what COMMAND prints with --json; without one, list the commands.

    The schema is of draft 2020-12, an open standard. `format` in it and in every answer rises when
    a key goes or changes its meaning; new keys may come at any time.
    """
    from panel.cli.schemas import ANSWERED, schema

    if not name:
        tell("\n".join(ANSWERED))
        return
    asked = " ".join(name)
    if asked not in ANSWERED:
        raise click.BadParameter(
            f"{asked!r} is no command that prints JSON. `oakpanel schema` lists them.",
            param_hint="COMMAND",
        )
    click.echo(json.dumps(schema(asked), ensure_ascii=False, indent=2))  # never folded

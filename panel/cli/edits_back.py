"""`--take-back` of the commands that edit a list of the house's."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import Invocation
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.records.acts import Act

take_back_option = click.option(
    "--take-back", is_flag=True, help="Take back what you edited last, within ten minutes."
)


def take_edit_back(
    inv: Invocation,
    edited: EditedList,
    name: str | None,
    as_json: bool,
    *,
    act: Act | None = None,
) -> None:
    """Take the last edit back and say so; where the edit binds (*act*) who does it proves it."""
    from panel.records import lists_back

    by = inv.by if act is None else inv.proved(act)
    with inv.writing() as db:
        done = lists_back.take_edit_back(db, edited, name, now=inv.now(), by=by)
    if as_json:
        emit_json(done)
    else:
        click.echo(done.sentence())

"""`oakpanel house`: settings, each with its bounds and its reason."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json, table
from panel.cli.documents import Settings, SettingSet
from panel.cli.edits_back import take_back_option, take_edit_back
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.figures import as_here, in_digits
from panel.kinds import EditedList


@click.group()
def command() -> None:
    """Settings of the house, each with its reason."""


@command.command()
@json_option
@pass_invocation
def show(inv: Invocation, as_json: bool) -> None:
    """List every setting, its value, its bounds and why there is one."""
    from panel.questions.house import setting_lines

    with inv.reading() as db:
        settings = setting_lines(db)
    if as_json:
        emit_json(Settings(tuple(settings)))
        return
    rows = [(s.name, _as_kept(s.value), s.unit, s.bounds, s.reason) for s in settings]
    click.echo(table(["setting", "value", "unit", "from to", "why"], rows))


def _as_kept(value: float | str) -> str:
    return value if isinstance(value, str) else as_here(str(value))


@command.command("set")
@click.argument("name")
@click.argument("value", required=False)
@click.option("--reason", help="Why; kept in the log. A cap on ethanol is not raised without.")
@take_back_option
@json_option
@pass_invocation
def set_value(
    inv: Invocation,
    name: str,
    value: str | None,
    reason: str | None,
    take_back: bool,
    as_json: bool,
) -> None:
    """Change the setting NAME to VALUE."""
    if take_back == (value is not None):
        raise click.UsageError("Give a value, or --take-back.")
    from panel.records.acts import Act

    if value is None:
        take_edit_back(inv, EditedList.SETTINGS, name, as_json, act=Act.SETTING)
        return
    from panel.records.settings import change_setting

    by = inv.proved(Act.SETTING)
    with inv.writing() as db:
        done = change_setting(db, name, value, now=inv.now(), by=by, reason=reason)
    if as_json:
        emit_json(SettingSet(name, done.before, done.value))
    else:
        click.echo(f"{name}: {_plain(done.value)} (was {_plain(done.before)}).")


def _plain(value: object) -> str:
    return in_digits(value, "g") if isinstance(value, int | float) else str(value)

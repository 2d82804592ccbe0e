"""`oakpanel house`: settings, each with its bounds and its reason."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, table
from panel.cli.invocation import Invocation, json_option, pass_invocation

if TYPE_CHECKING:
    from panel.store.engine import Session


@click.group()
def command() -> None:
    """Settings of the house, each with its reason."""


@command.command()
@json_option
@pass_invocation
def show(inv: Invocation, as_json: bool) -> None:
    """List every setting, its value, its bounds and why there is one."""
    with inv.reading() as db:
        settings = _settings(db)
    if as_json:
        emit_json({"settings": settings})
        return
    rows = [(s["name"], s["value"], s["unit"], _bounds(s), s["reason"]) for s in settings]
    click.echo(table(["setting", "value", "unit", "from to", "why"], rows))


@command.command("set")
@click.argument("name")
@click.argument("value")
@click.option("--reason", help="Why; kept in the log. A cap on ethanol is not raised without.")
@json_option
@pass_invocation
def set_value(inv: Invocation, name: str, value: str, reason: str | None, as_json: bool) -> None:
    """Change the setting NAME to VALUE."""
    from panel.records.settings import change_setting

    with inv.writing() as db:
        done = change_setting(db, name, value, now=inv.now(), by=inv.by, reason=reason)
    if as_json:
        emit_json({"name": name, "before": done.before, "value": done.value})
    else:
        click.echo(f"{name}: {_plain(done.value)} (was {_plain(done.before)}).")


def _settings(db: Session) -> list[dict[str, object]]:
    from panel.store.house import RULES, read_setting

    return [
        {
            "name": name,
            "value": read_setting(db, name),
            "default": rule.default,
            "low": None if isinstance(rule.default, str) else rule.low,
            "high": None if isinstance(rule.default, str) else rule.high,
            "unit": rule.unit,
            "reason": rule.reason,
        }
        for name, rule in RULES.items()
    ]


def _bounds(setting: dict[str, object]) -> str:
    if setting["low"] is None:
        return ""
    return f"{_plain(setting['low'])} to {_plain(setting['high'])}"


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else str(value)

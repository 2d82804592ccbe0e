"""`oakpanel rules`: rules of law as sets that a house can edit, each citing its law."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json, say, table, tell
from panel.cli.documents import RuleChanged, Rules, RuleSet, RuleSets
from panel.cli.edits_back import take_back_option, take_edit_back
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.figures import in_digits, typed_number
from panel.kinds import EditedList
from panel.words.rule_words import LAST_WORD


@click.group("rules")
def command() -> None:
    """Rules of law that vattings and releases are held to."""


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List the rule sets and which are in force."""
    from panel.store.rules import rule_books

    with inv.reading() as db:
        books = rule_books(db)
    if as_json:
        emit_json(RuleSets(tuple(RuleSet(b.name, b.in_force, len(b.rules)) for b in books)))
        return
    rows = [(b.name, "in force" if b.in_force else "off", len(b.rules)) for b in books]
    click.echo(table(("rule set", "", "rules"), rows))
    say(LAST_WORD)


@command.command("show")
@click.argument("name", required=False)
@json_option
@pass_invocation
def show(inv: Invocation, name: str | None, as_json: bool) -> None:
    """Show every rule of a set, or of all sets in force, with the law it cites."""
    from panel.errors import UnknownRecord
    from panel.store.rules import rule_books

    with inv.reading() as db:
        books = rule_books(db)
    if name is not None and name not in [book.name for book in books]:
        known = ", ".join(book.name for book in books)
        raise UnknownRecord(f"There is no rule set {name!r}. There are: {known}.")
    chosen = [b for b in books if (b.in_force if name is None else b.name == name)]
    rules = [rule for book in chosen for rule in book.rules]
    if as_json:
        emit_json(Rules.of(chosen))
        return
    for rule in rules:
        click.echo(f"{rule.rule_set}: {rule.kind.value} {in_digits(rule.value, 'g')} {rule.unit}")
        tell(f"    {rule.cites}")
    for book in chosen:
        for each in book.not_looked_at:
            tell(f"{book.name}: not looked at: {each}")
    if not rules:
        click.echo("No rule is in force.")
    say(LAST_WORD)


@command.command("set")
@click.argument("name")
@click.argument("what", required=False, metavar="[on|off|RULE]")
@click.argument("value", required=False, metavar="[VALUE|none]")
@click.option("--cites", default="", help="The law that a changed or new rule comes from.")
@take_back_option
@json_option
@pass_invocation
def set_rule(
    inv: Invocation,
    name: str,
    what: str | None,
    value: str | None,
    cites: str,
    take_back: bool,
    as_json: bool,
) -> None:
    """Put the set NAME on or off, or change a rule of it (a new name makes a new set).

    RULE is minimum age, minimum strength, largest cask or age statement; `none` strikes it out.
    """
    from panel.records.acts import Act
    from panel.records.rules import KINDS, change_rule, set_in_force

    if take_back == (what is not None):
        raise click.UsageError("Say on, off or which rule, or --take-back.")
    if what is None:
        take_edit_back(inv, EditedList.RULES, name, as_json, act=Act.RULE)
        return
    if what not in {"on", "off", *KINDS}:
        raise click.BadParameter(f"{what!r} is not on, off or one of: {', '.join(KINDS)}")
    number = _number(value) if what in KINDS else None
    by = inv.proved(Act.RULE)
    with inv.writing() as db:
        if what in KINDS:
            change_rule(db, name, what, number, cites, now=inv.now(), by=by)
        else:
            set_in_force(db, name, what == "on", now=inv.now(), by=by)
    if as_json:
        emit_json(RuleChanged(name, what, value, cites or None))
    else:
        click.echo(f"{name}: {what}{f' {value}' if value else ''}.")
        say(LAST_WORD)


def _number(value: str | None) -> float | None:
    if value == "none":
        return None
    try:
        return typed_number(value or "")
    except ValueError:
        raise click.BadParameter(f"{value!r} is not a number, nor `none`") from None

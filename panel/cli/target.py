"""`oakpanel target`: targets, and new ones made from a cask, a release or another target."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.completing import a_cask, a_release, a_target
from panel.cli.documents import TargetMade, Targets
from panel.cli.edits_back import take_back_option, take_edit_back
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.number import NUMBER
from panel.figures import in_digits
from panel.kinds import EditedList

if TYPE_CHECKING:
    from panel.questions.targets import TargetRecord


@click.group("target")
def command() -> None:
    """What releases should be like: aims, tolerances and weights."""


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List all targets."""
    from panel.questions.targets import target_records

    with inv.reading() as db:
        found = target_records(db)
    if as_json:
        emit_json(Targets(tuple(found)))
        return
    rows = [(each.name, len(each.lines), _aims(each)) for each in found]
    click.echo(table(("target", "lines", "aims"), rows) if rows else "No targets yet.")


@command.command("show")
@click.argument("name", shell_complete=a_target)
@json_option
@pass_invocation
def show(inv: Invocation, name: str, as_json: bool) -> None:
    """Show one target line by line."""
    from panel.questions.targets import target_record

    with inv.reading() as db:
        found = target_record(db, name)
    if as_json:
        emit_json(found)
        return
    rows = [
        (
            line.descriptor,
            in_digits(line.aim, "g"),
            in_digits(line.tolerance, "g"),
            in_digits(line.weight, "g"),
        )
        for line in found.lines
    ]
    click.echo(table(("note", "aim", "+/-", "weight"), rows))


@command.command("make")
@click.argument("name")
@click.option(
    "--like-cask", metavar="CASK", help="As the panel found this cask.", shell_complete=a_cask
)
@click.option(
    "--like-release",
    metavar="RELEASE",
    help="As the panel found this release.",
    shell_complete=a_release,
)
@click.option(
    "--from", "from_target", metavar="TARGET", help="As this target.", shell_complete=a_target
)
@click.option(
    "--more",
    "changes",
    multiple=True,
    metavar="NOTE=STEP",
    help="But with more (+10) or less (-5) of a note, or a note at a value (30).",
)
@click.option("--with-held", is_flag=True, help="Like a cask although it leaks.")
@click.option("--only", multiple=True, metavar="NOTE", help="These notes only.")
@click.option("--tolerance", type=NUMBER, help="Points; else the house's own for alike glasses.")
@take_back_option
@as_of_option
@json_option
@pass_invocation
def make(
    inv: Invocation,
    name: str,
    like_cask: str | None,
    like_release: str | None,
    from_target: str | None,
    changes: tuple[str, ...],
    with_held: bool,
    only: tuple[str, ...],
    tolerance: float | None,
    take_back: bool,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Make the target NAME from a cask, a release or another target."""
    sources = (like_cask, like_release, from_target)
    if take_back:
        if any(sources):
            raise click.UsageError("Give what it is to be like, or --take-back.")
        take_edit_back(inv, EditedList.TARGETS, name, as_json)
        return
    from panel.questions.target_making import likeness, read_changes
    from panel.questions.targets import target_record
    from panel.records.targets import make_target
    from panel.words.target_words import made_lines

    if sum(each is not None for each in sources) != 1:
        raise click.UsageError("Give one of --like-cask, --like-release and --from.")
    steps = read_changes(changes)
    with inv.reading() as db:  # the reckoning takes seconds: no booth waits for it
        like = likeness(
            db,
            cask=like_cask,
            release=like_release,
            target=from_target,
            changes=steps,
            only=only,
            with_held=with_held,
            as_of=as_of or inv.today(db),
        )
    with inv.writing() as db:
        make_target(
            *(db, name, like),
            tolerance=tolerance,
            only=only,
            changes=changes,
            now=inv.now(),
            by=inv.by,
        )
        found = target_record(db, name)
    if as_json:
        emit_json(TargetMade(found, like.source, like.left_out, like.clipped))
        return
    click.echo("\n".join(made_lines(name, len(found.lines), like)))
    say(f"`oakpanel match {name!r}` and `oakpanel vat {name!r} ...` say what comes near it.")


def _aims(target: TargetRecord) -> str:
    words = ", ".join(f"{line.descriptor} {in_digits(line.aim, 'g')}" for line in target.lines)
    return words if len(words) <= 54 else f"{words[:51]}..."

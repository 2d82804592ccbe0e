"""`oakpanel target`: targets, and new ones made from a cask, a release or another target."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import emit_json, say, table
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.errors import OakpanelError

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.questions.target_making import Likeness
    from panel.store.targets import Target


@click.group("target")
def command() -> None:
    """What releases should be like: aims, tolerances and weights."""


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List all targets."""
    from sqlalchemy import select

    from panel.store.targets import Target

    with inv.open(readonly=True).read() as db:
        found = [document(each) for each in db.scalars(select(Target).order_by(Target.name))]
    if as_json:
        emit_json({"targets": found})
        return
    rows = [(each["target"], len(each["lines"]), _aims(each)) for each in found]
    click.echo(table(("target", "lines", "aims"), rows) if rows else "No targets yet.")


@command.command("show")
@click.argument("name")
@json_option
@pass_invocation
def show(inv: Invocation, name: str, as_json: bool) -> None:
    """Show one target line by line."""
    with inv.open(readonly=True).read() as db:
        found = document(stored(db, name))
    if as_json:
        emit_json(found)
        return
    rows = [
        (line["descriptor"], f"{line['aim']:g}", f"{line['tolerance']:g}", f"{line['weight']:g}")
        for line in found["lines"]
    ]
    click.echo(table(("note", "aim", "+/-", "weight"), rows))


@command.command("make")
@click.argument("name")
@click.option("--like-cask", metavar="CASK", help="As the panel found this cask.")
@click.option("--like-release", metavar="RELEASE", help="As the panel found this release.")
@click.option("--from", "from_target", metavar="TARGET", help="As this target.")
@click.option(
    "--more",
    "changes",
    multiple=True,
    metavar="NOTE=STEP",
    help="But with more (+10) or less (-5) of a note, or a note at a value (30).",
)
@click.option("--with-held", is_flag=True, help="Like a cask although it leaks.")
@click.option("--only", multiple=True, metavar="NOTE", help="These notes only.")
@click.option("--tolerance", type=float, help="Points; else the house's own for alike glasses.")
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
    as_of: date | None,
    as_json: bool,
) -> None:
    """Make the target NAME from a cask, a release or another target."""
    from panel.kinds import Role
    from panel.questions.target_making import changed, keep_target, read_changes
    from panel.store.house import number_setting
    from panel.store.log import append_entry
    from panel.store.who import acting_person

    if sum(each is not None for each in (like_cask, like_release, from_target)) != 1:
        raise click.UsageError("Give one of --like-cask, --like-release and --from.")
    steps = read_changes(changes)
    with inv.open().write() as db:
        by = acting_person(db, inv.by, Role.BLENDER)
        day = as_of or inv.today(db)
        like = changed(_like(db, like_cask, like_release, from_target, day, with_held), steps)
        if tolerance is None and from_target is None:
            tolerance = number_setting(db, "alike_tolerance")
        target = keep_target(db, name, like, tolerance=tolerance, only=only)
        details = {"target": name, "source": like.source, "changes": list(changes)}
        append_entry(db, at=inv.now(), by=by.code, action="target made", details=details)
        found = {**document(target), "source": like.source}
    if as_json:
        emit_json(found)
        return
    click.echo(f"Target {name}, {len(found['lines'])} lines, like {like.source}.")
    say(f"`oakpanel match {name!r}` and `oakpanel vat {name!r} ...` say what comes near it.")


def _like(
    db: Session,
    cask: str | None,
    release: str | None,
    target: str | None,
    day: date,
    with_held: bool,
) -> Likeness:
    from panel.frames import target_of
    from panel.questions.target_making import like_cask, like_release, like_target

    if cask is not None:
        return like_cask(db, cask, as_of=day, with_held=with_held)
    if release is not None:
        return like_release(db, release, as_of=day)
    return like_target(target_of(db, target or ""))


def stored(db: Session, name: str) -> Target:
    """Return a target by name, or say which there are."""
    from sqlalchemy import select

    from panel.store.targets import Target

    found = db.scalar(select(Target).where(Target.name == name))
    if found is None:
        names = ", ".join(db.scalars(select(Target.name).order_by(Target.name)))
        raise OakpanelError(f"There is no target {name!r}. There are: {names or 'none yet'}.")
    return found


def document(target: Target) -> dict[str, Any]:
    """Return a target for JSON."""
    return {
        "target": target.name,
        "lines": [
            {
                "descriptor": line.descriptor.name,
                "aim": line.aim,
                "tolerance": line.tolerance,
                "weight": line.weight,
            }
            for line in target.lines
        ],
    }


def _aims(target: dict[str, Any]) -> str:
    words = ", ".join(f"{line['descriptor']} {line['aim']:g}" for line in target["lines"])
    return words if len(words) <= 54 else f"{words[:51]}..."

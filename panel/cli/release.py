"""`oakpanel release`: from a proposal that reserves its casks to a frozen bottling."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import RECKONING, emit_json, say, table, waiting
from panel.cli.as_batch import as_batch_options, read_as_batch
from panel.cli.completing import a_plan, a_release, a_target
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.later import tell_later
from panel.cli.number import NUMBER
from panel.cli.pictured import check_picture, drawn_here, picture_option
from panel.cli.release_batches import batches, check
from panel.cli.release_documents import Proposed, Releases
from panel.cli.release_mixing import mixing
from panel.cli.release_steps import bottle, cancel, disgorge, on_option, sign
from panel.cli.told_again import ReleaseTold, tell_vat_mind, would_change_option
from panel.cli.vat_options import limit_options, read_exponents, read_limits
from panel.figures import typed_number
from panel.words.release import agreed_lines, bench_lines, release_lines

if TYPE_CHECKING:
    from analysis.pictures import Picture
    from panel.release.batch import AsBatch
    from panel.release.propose import Proposal
    from panel.store.engine import Session


@click.group("release")
def command() -> None:
    """Releases: proposed, tried, disgorged, signed by a second person, bottled."""


for step in (disgorge, sign, bottle, cancel, mixing, check, batches):
    command.add_command(step)


@command.command("propose")
@click.argument("name")
@click.option("--target", help="What it should be like.", shell_complete=a_target)
@click.option(
    "--plan",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A plan that `oakpanel vat --json` wrote, instead of choosing anew.",
)
@click.option(
    "--from-plan",
    metavar="PLAN",
    shell_complete=a_plan,
    help="The casks kept for NAME in a plan of the stock.",
)
@click.option("--answer", type=click.IntRange(1, 5), default=1, help="Which of the answers.")
@click.option("--take", multiple=True, metavar="CASK=LITRES", help="Or: these litres by hand.")
@click.option("--reason", help="Why, for the record.")
@click.option("--chill-filtered", is_flag=True, help="It will be chill filtered.")
@as_batch_options
@limit_options
@as_of_option
@json_option
@pass_invocation
def propose(
    inv: Invocation,
    /,
    name: str,
    target: str | None,
    plan: Path | None,
    from_plan: str | None,
    answer: int,
    take: tuple[str, ...],
    reason: str | None,
    chill_filtered: bool,
    as_batch: str | None,
    within: float | None,
    recipe: float,
    free_recipe: bool,
    as_of: date | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Choose casks as `oakpanel vat` does, and reserve them for the release NAME."""
    from dataclasses import replace

    from panel.questions.sessions import held_later
    from panel.records.acts import Act
    from panel.release.batch_steps import keep_batch
    from panel.release.propose import propose as keep
    from panel.release.trace import record

    batch = read_as_batch(as_batch, within, recipe, free=free_recipe)
    by = inv.proved(Act.PROPOSE)
    with inv.reading() as db:  # the search takes seconds: no booth waits for it
        day = as_of or inv.today(db)
        if from_plan is not None:
            proposal = _from_plan(db, name, from_plan, day)
        else:
            proposal = _proposal(db, target, plan, answer, take, day, given, batch)
    proposal = replace(proposal, reason=reason, chill_filtered=chill_filtered)
    with inv.writing() as db:
        release = keep(db, name, proposal, as_of=day, now=inv.now(), by=by)
        if batch is not None:
            keep_batch(db, name, batch)
        found = record(db, release)
        checks = [*proposal.document.get("checks", []), *proposal.document.get("broken", [])]
        later = held_later(db, day)
    if as_json:
        emit_json(Proposed(found, tuple(checks), proposal.since_kept, later))
        return
    from panel.words.answers import paragraph
    from panel.words.plan_words import chance_since_words
    from panel.words.vat_words import beside_lines, mixture_lines

    click.echo(f"Release {name} is proposed; its casks are reserved.\n")
    if batch is not None and proposal.beside is not None:
        click.echo("\n".join(beside_lines(proposal.beside, batch.lot)))
        click.echo("And against the target:\n")
    click.echo("\n".join(mixture_lines(proposal.mixture)))
    if proposal.since_kept is not None:
        click.echo("\n".join(paragraph(chance_since_words(proposal.since_kept))))
    for sentence in checks:
        click.echo("\n".join(paragraph(sentence)))
    for line in agreed_lines(found["agreed"]):
        click.echo(line)
    tell_later(later, day)
    say(f"Next: `oakpanel release bench {name!r}`, and nose it blind beside the last release.")


def _proposal(
    db: Session,
    target: str | None,
    plan: Path | None,
    answer: int,
    take: tuple[str, ...],
    day: date,
    given: dict[str, Any],
    batch: AsBatch | None,
) -> Proposal:
    from panel.questions.vatting import house_vatting
    from panel.release.batch_steps import batch_proposal
    from panel.release.propose import from_answer, from_litres, read_plan

    if plan is not None:
        _only_with_plan()
        read = read_plan(plan.read_text(encoding="utf-8"), answer)
        return from_litres(
            db, read.target, read.limits, read.litres, as_of=day, exponents=read.exponents
        )
    if target is None:
        raise click.UsageError("Say what it should be like: --target NAME, or give a --plan.")
    with_held, exponents = given.pop("with_held"), read_exponents(given.pop("exponents"))
    if take:
        limits = read_limits(**_by_hand(given))
        return from_litres(
            *(db, target, limits, _litres(take)),
            as_of=day,
            with_held=with_held,
            exponents=exponents,
        )
    if batch is not None:
        return batch_proposal(
            *(db, target, read_limits(**given), batch),
            number=answer,
            as_of=day,
            with_held=with_held,
            exponents=exponents,
        )
    found = house_vatting(
        db,
        target,
        read_limits(**given),
        as_of=day,
        with_held=with_held,
        exponents=exponents,
    )
    return from_answer(found, answer, exponents)


def _from_plan(db: Session, name: str, plan: str, day: date) -> Proposal:
    from panel.release.from_plan import FromPlan, planned_proposal

    _only_with_plan("--from-plan", "from_plan")
    return planned_proposal(db, FromPlan(plan, name), as_of=day)


BESIDE_PLAN = {"name", "plan", "answer", "reason", "chill_filtered", "as_of", "as_json"}
"""What goes with a plan; target and limits are in it."""


def _typed(name: str | None) -> bool:
    source = click.get_current_context().get_parameter_source(name or "")
    return source is click.core.ParameterSource.COMMANDLINE


def _only_with_plan(said: str = "--plan", own: str = "plan") -> None:
    """Refuse options that a plan has settled already."""
    options = click.get_current_context().command.params
    fits = (BESIDE_PLAN - {"plan", "answer"}) | {own} if own != "plan" else BESIDE_PLAN
    beside = [one for one in options if _typed(one.name) and one.name not in fits]
    if beside:
        raise click.UsageError(
            f"A {said} holds target, casks and limits already: leave out "
            f"{', '.join(one.opts[0] for one in beside)}, or leave out the plan."
        )


def _by_hand(given: dict[str, Any]) -> dict[str, Any]:
    """Options with litres by hand: parts of casks, however small, unless it is said otherwise."""
    if _typed("answer"):
        raise click.UsageError("Litres taken by hand are no answer to choose: leave out --answer.")
    loose: dict[str, Any] = {} if _typed("whole") else {"whole": False}
    if not _typed("smallest_draw"):
        loose["smallest_draw"] = 0.0
    return {**given, **loose}


def _litres(texts: tuple[str, ...]) -> dict[str, float]:
    found = {}
    for text in texts:
        cask, equals, amount = text.rpartition("=")
        try:
            found[cask] = typed_number(amount)
        except ValueError:
            equals = ""
        if not (equals and cask):
            raise click.BadParameter(f"{text!r} is not a cask and litres such as SW1505=120")
    return found


@command.command("list")
@json_option
@pass_invocation
def list_all(inv: Invocation, as_json: bool) -> None:
    """List all releases, the newest first."""
    from panel.release.lists import listed_releases

    with inv.reading() as db:
        found = listed_releases(db)
    if as_json:
        emit_json(Releases(tuple(found)))
        return
    headings = ("release", "status", "target", "planned", "casks", "bottles", "lot")
    cells = [
        tuple("-" if cell is None else cell for cell in row.values())
        for row in (line.to_dict() for line in found)
    ]
    click.echo(table(headings, cells) if cells else "No release was proposed yet.")


@command.command("show")
@click.argument("name", shell_complete=a_release)
@would_change_option
@json_option
@pass_invocation
def show(inv: Invocation, name: str, mind: bool, as_json: bool) -> None:
    """Show a release by name or lot code: casks, litres, draws, plan, nosing and outcome."""
    from panel.questions.sessions import held_later
    from panel.release.next_glasses import would_change_release
    from panel.release.trace import record_of

    with inv.reading() as db, waiting(RECKONING):
        today = inv.today(db)
        found = record_of(db, name, as_of=today)
        changes = would_change_release(db, name, as_of=today) if mind else None
        later = held_later(db, today)
    if as_json:
        emit_json(ReleaseTold(found, changes, later))
        return
    click.echo("\n".join(release_lines(found)))
    if mind:
        tell_vat_mind(changes)
    tell_later(later, today)


@command.command("bench")
@click.argument("name", shell_complete=a_release)
@click.option("--ml", type=NUMBER, default=100.0, show_default=True, help="How much to mix, mL.")
@click.option("--sample", help="Its label; else the release's name with a number.")
@on_option
@json_option
@pass_invocation
def bench(
    inv: Invocation, name: str, ml: float, sample: str | None, on: date | None, as_json: bool
) -> None:
    """Make a trial draw of the release: what to pour of each cask, ready for a blind session."""
    from panel.release.bench import mix_bench
    from panel.release.recipe import bench_recipe

    with inv.reading() as db, waiting(RECKONING):
        day = on or inv.today(db)
        recipe = bench_recipe(db, name, volume_ml=ml, as_of=day)
    with inv.writing() as db:
        found = mix_bench(
            *(db, name),
            volume_ml=ml,
            label=sample,
            as_of=day,
            now=inv.now(),
            by=inv.by,
            recipe=recipe,
        )
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(bench_lines(found)))


def _in_the_house(db: Session, name: str, day: date) -> tuple[Picture, ...]:
    from panel.pictures.releases import in_the_house

    return in_the_house(db, name, as_of=day)


@command.command("sheet")
@click.argument("name", shell_complete=a_release)
@picture_option
@as_of_option
@json_option
@pass_invocation
def sheet(
    inv: Invocation, name: str, picture: str | None, as_of: date | None, as_json: bool
) -> None:
    """Print the sheet for people who guide and sell, or draw where it stands in the house."""
    from panel.release.sheet import sheet_of
    from panel.words.release_sheet import sheet_lines

    check_picture(picture, as_json=as_json)
    with inv.reading() as db:
        day = as_of or inv.today(db)
        found = sheet_of(db, name, as_of=day)
        drawn = _in_the_house(db, name, day) if picture else ()
    if drawn_here(picture, drawn):
        return
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join([*sheet_lines(found), "", f"Log head {found.log_head}"]))

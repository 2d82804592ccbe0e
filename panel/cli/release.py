"""`oakpanel release`: from a proposal that reserves its casks to a frozen bottling."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import RECKONING, emit_json, say, table, waiting
from panel.cli.invocation import (
    Invocation,
    as_of_option,
    json_option,
    pass_invocation,
    read_date,
)
from panel.cli.vat_options import limit_options, read_exponents, read_limits
from panel.words.benched_words import benched_lines
from panel.words.release import bench_lines, mixing_lines, outcome_lines, release_lines

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned
    from panel.release.outcome import Given
    from panel.release.propose import Proposal
    from panel.store.engine import Session

on_option = click.option("--on", callback=read_date, metavar="DATE", help="The day; else today.")


@click.group("release")
def command() -> None:
    """Releases: proposed, tried, disgorged, signed by a second person, bottled."""


@command.command("propose")
@click.argument("name")
@click.option("--target", help="What it should be like.")
@click.option(
    "--plan",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A plan that `oakpanel vat --json` wrote, instead of choosing anew.",
)
@click.option("--answer", type=click.IntRange(1, 5), default=1, help="Which of the answers.")
@click.option("--take", multiple=True, metavar="CASK=LITRES", help="Or: these litres by hand.")
@click.option("--reason", help="Why, for the record.")
@click.option("--chill-filtered", is_flag=True, help="It will be chill filtered.")
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
    answer: int,
    take: tuple[str, ...],
    reason: str | None,
    chill_filtered: bool,
    as_of: date | None,
    as_json: bool,
    **given: Any,
) -> None:
    """Choose casks as `oakpanel vat` does, and reserve them for the release NAME."""
    from dataclasses import replace

    from panel.release.propose import propose as keep
    from panel.release.trace import record

    with inv.reading() as db:  # the search takes seconds: no booth waits for it
        day = as_of or inv.today(db)
        proposal = _proposal(db, target, plan, answer, take, day, given)
    proposal = replace(proposal, reason=reason, chill_filtered=chill_filtered)
    with inv.writing() as db:
        release = keep(db, name, proposal, as_of=day, now=inv.now(), by=inv.by)
        found = record(db, release)
        checks = [*proposal.document.get("checks", []), *proposal.document.get("broken", [])]
    if as_json:
        emit_json({**found, "checks": checks})
        return
    from panel.words.answers import paragraph
    from panel.words.vat_words import mixture_lines

    click.echo(f"Release {name} is proposed; its casks are reserved.\n")
    click.echo("\n".join(mixture_lines(proposal.mixture)))
    for sentence in checks:
        click.echo("\n".join(paragraph(sentence)))
    say(f"Next: `oakpanel release bench {name!r}`, and nose it blind beside the last release.")


def _proposal(
    db: Session,
    target: str | None,
    plan: Path | None,
    answer: int,
    take: tuple[str, ...],
    day: date,
    given: dict[str, Any],
) -> Proposal:
    from panel.questions.vatting import house_vatting
    from panel.release.propose import from_answer, from_litres, read_plan

    if plan is not None:
        aim, limits, litres = read_plan(plan.read_text(encoding="utf-8"))
        return from_litres(db, aim, limits, litres, as_of=day)
    if target is None:
        raise click.UsageError("Say what it should be like: --target NAME, or give a --plan.")
    with_held, exponents = given.pop("with_held"), read_exponents(given.pop("exponents"))
    limits = read_limits(**given)
    if take:
        return from_litres(db, target, limits, _litres(take), as_of=day, with_held=with_held)
    found = house_vatting(
        db,
        target,
        limits,
        as_of=day,
        with_held=with_held,
        exponents=exponents,
        in_full=answer > 1,
    )
    return from_answer(found, answer)


def _litres(texts: tuple[str, ...]) -> dict[str, float]:
    found = {}
    for text in texts:
        cask, equals, amount = text.rpartition("=")
        try:
            found[cask] = float(amount)
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
        rows = [line.to_dict() for line in listed_releases(db)]
    if as_json:
        emit_json({"releases": rows})
        return
    headings = ("release", "status", "target", "planned", "casks", "bottles", "lot")
    cells = [tuple("-" if cell is None else cell for cell in row.values()) for row in rows]
    click.echo(table(headings, cells) if cells else "No release was proposed yet.")


@command.command("show")
@click.argument("name")
@json_option
@pass_invocation
def show(inv: Invocation, name: str, as_json: bool) -> None:
    """Show a release by name or lot code: casks, litres, draws, plan, nosing and outcome."""
    from panel.release.trace import record_of

    with inv.reading() as db, waiting(RECKONING):
        found = record_of(db, name, as_of=inv.today(db))
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(release_lines(found)))


@command.command("bench")
@click.argument("name")
@click.option("--ml", type=float, default=100.0, show_default=True, help="How much to mix, mL.")
@click.option("--sample", help="Its label; else the release's name with a number.")
@on_option
@json_option
@pass_invocation
def bench(
    inv: Invocation, name: str, ml: float, sample: str | None, on: date | None, as_json: bool
) -> None:
    """Make a trial draw of the release: what to pour of each cask, ready for a blind session."""
    from panel.release.bench import mix_bench

    with inv.writing() as db:
        found = mix_bench(
            db,
            name,
            volume_ml=ml,
            label=sample,
            as_of=on or inv.today(db),
            now=inv.now(),
            by=inv.by,
        )
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(bench_lines(found)))


def read_given(_ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> object:
    """Read what casks gave, such as `SW1505=171.2@58.4`."""
    from panel.release.outcome import Given

    found: dict[str, Given] = {}
    for value in values:
        cask, equals, amount = value.rpartition("=")
        litres, at, abv = amount.partition("@")
        try:
            each = Given(float(litres), float(abv))
        except ValueError:
            equals = ""
        if not (equals and at and cask):
            raise click.BadParameter(f"{value!r} is not CASK=litres@strength such as C12=171@58.4")
        if cask in found:
            raise click.BadParameter(f"cask {cask} stands twice")
        found[cask] = each
    return found


@command.command("disgorge")
@click.argument("name")
@click.option(
    "--cask",
    "given",
    multiple=True,
    required=True,
    callback=read_given,
    metavar="CASK=LITRES@ABV",
    help="What a cask gave, at 20 °C; once for each cask.",
)
@click.option("--vat-litres", type=float, help="The vat as measured, at 20 °C.")
@click.option("--vat-abv", type=float, help="The vat as measured, % vol.")
@click.option("--try", "only_try", is_flag=True, help="Only show; keep nothing.")
@on_option
@json_option
@pass_invocation
def disgorge(
    inv: Invocation,
    name: str,
    given: dict[str, Given],
    vat_litres: float | None,
    vat_abv: float | None,
    only_try: bool,
    on: date | None,
    as_json: bool,
) -> None:
    """Keep what each cask really gave; shares, age, water and bottles follow from it."""
    from panel.questions.profile import house_profile
    from panel.release.benched import nosed_blend
    from panel.release.steps import disgorge as keep
    from panel.release.steps import try_disgorging

    with inv.reading() as db:  # the reckoning takes seconds: no booth waits for it
        day = on or inv.today(db)
        profile = house_profile(db, as_of=day)
        vat = {"vat_litres": vat_litres, "vat_abv": vat_abv}
        if only_try:
            found = try_disgorging(db, name, given, on=day, profile=profile, **vat)
    if not only_try:
        with inv.writing() as db:
            found = keep(db, name, given, on=day, now=inv.now(), by=inv.by, profile=profile, **vat)
    with inv.reading() as db:
        nosed = nosed_blend(db, name, as_of=day, profile=profile)
    if as_json:
        emit_json({"release": name, "kept": not only_try, **found.to_dict(), "nosed": nosed})
        return
    click.echo("\n".join([*outcome_lines(name, found), *benched_lines(nosed)]))
    if only_try:
        say("Nothing was kept.")


@command.command("sign")
@click.argument("name")
@click.option(
    "--despite", metavar="REASON", help="Sign although a limit, a rule or the nosing is against it."
)
@on_option
@json_option
@pass_invocation
def sign(inv: Invocation, name: str, despite: str | None, on: date | None, as_json: bool) -> None:
    """Sign a disgorged release as a second person (--by); it gets its lot code."""
    from panel.release.benched import profile_of_nosed
    from panel.release.steps import sign as keep
    from panel.release.trace import record_of

    with inv.reading() as db:  # the reckoning takes seconds: no booth waits for it
        day = on or inv.today(db)
        profile = profile_of_nosed(db, name, as_of=day)
        before = record_of(db, name, as_of=day, profile=profile)
    for line in [] if as_json else _to_know(before):
        click.echo(line)
    with inv.writing() as db:
        release = keep(
            *(db, name), on=day, now=inv.now(), by=inv.by, despite=despite, profile=profile
        )
        found = {"release": name, "lot_code": release.lot_code, "signed_by": release.signed_by}
    if as_json:
        emit_json(
            {**found, "differences": before["found"]["differences"], "nosed": before["nosed"]}
        )
    else:
        click.echo(f"Release {name} is signed by {found['signed_by']}: lot {found['lot_code']}.")


def _to_know(before: dict[str, Any]) -> list[str]:
    """What whoever signs reads first: what is otherwise than planned, and what was nosed."""
    differences = (before["found"] or {}).get("differences", [])
    return [*differences, *benched_lines(before["nosed"])]


@command.command("bottle")
@click.argument("name")
@click.option("--bottles", type=int, help="Bottles really filled; else as reckoned.")
@on_option
@json_option
@pass_invocation
def bottle(inv: Invocation, name: str, bottles: int | None, on: date | None, as_json: bool) -> None:
    """Freeze a signed release: casks are emptied in the records, nothing changes any more."""
    from panel.release.steps import bottle as keep

    with inv.writing() as db:
        release = keep(db, name, bottles=bottles, on=on or inv.today(db), now=inv.now(), by=inv.by)
        found = {"release": name, "lot_code": release.lot_code, "bottles": release.bottles}
    if as_json:
        emit_json(found)
    else:
        click.echo(
            f"Release {name}, lot {found['lot_code']}: {found['bottles']:,} bottles. Frozen."
        )
        say("Duty and label: check with your excise officer and your label adviser.")


@command.command("cancel")
@click.argument("name")
@click.option("--reason", required=True, help="Why it is given up.")
@on_option
@json_option
@pass_invocation
def cancel(inv: Invocation, name: str, reason: str, on: date | None, as_json: bool) -> None:
    """Give a proposed release up; its casks are free again."""
    from panel.release.steps import cancel as keep

    with inv.writing() as db:
        keep(db, name, reason, on=on or inv.today(db), now=inv.now(), by=inv.by)
    if as_json:
        emit_json({"release": name, "status": "cancelled"})
    else:
        click.echo(f"Release {name} is cancelled; its casks are free.")


@command.command("sheet")
@click.argument("name")
@as_of_option
@json_option
@pass_invocation
def sheet(inv: Invocation, name: str, as_of: date | None, as_json: bool) -> None:
    """Print the sheet for people who guide and sell."""
    from panel.release.sheet import sheet_of
    from panel.words.release_sheet import sheet_lines

    with inv.reading() as db:
        found = sheet_of(db, name, as_of=as_of or inv.today(db))
    if as_json:
        emit_json(found)
    else:
        click.echo("\n".join(sheet_lines(found)))


@command.command("mixing")
@click.option("--keep", is_flag=True, help="Use what the blends say from now on.")
@click.option("--set", "by_hand", multiple=True, metavar="NOTE=N", help="Set an exponent by hand.")
@as_of_option
@json_option
@pass_invocation
def mixing(
    inv: Invocation, keep: bool, by_hand: tuple[str, ...], as_of: date | None, as_json: bool
) -> None:
    """Say what nosed bench blends teach of how each note mixes; keep it for `oakpanel vat`."""
    from panel.release.mixing import learn_from_benches

    given = read_exponents(by_hand)
    if given:
        _set_exponents(inv, given)
        return
    with inv.reading() as db:
        day = as_of or inv.today(db)
        found = learn_from_benches(db, as_of=day)
    kept = _keep_mixing(inv, found, day) if keep else []
    if as_json:
        emit_json({**found.to_dict(), "kept": kept})
        return
    click.echo("\n".join(mixing_lines(found)))
    if kept:
        click.echo(f"Kept for {', '.join(kept)}.")


def _keep_mixing(inv: Invocation, found: MixingLearned, day: date) -> list[str]:
    from panel.release.mixing import keep_mixing

    with inv.writing() as db:
        return keep_mixing(db, found, on=day, now=inv.now(), by=inv.by)


def _set_exponents(inv: Invocation, given: dict[str, float]) -> None:
    from panel.release.mixing import set_exponents

    with inv.writing() as db:
        set_exponents(db, given, on=inv.today(db), now=inv.now(), by=inv.by)
    for name, exponent in given.items():
        click.echo(f"{name} mixes with exponent {exponent:g} from now on.")

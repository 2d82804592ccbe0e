"""A release's steps: disgorged, signed by a second person, bottled, given up."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json, say
from panel.cli.completing import a_cask, a_person, a_release
from panel.cli.invocation import Invocation, json_option, pass_invocation, read_date
from panel.cli.number import NUMBER
from panel.cli.release_documents import Bottled, Cancelled, Disgorged, Signed
from panel.errors import ReleaseError
from panel.figures import in_digits
from panel.words.benched_words import benched_lines
from panel.words.release import outcome_lines, signing_lines

if TYPE_CHECKING:
    from panel.release.given import Given

on_option = click.option("--on", callback=read_date, metavar="DATE", help="The day; else today.")


def read_given(_ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> object:
    """Read what casks gave, such as `SW1505=171.2@58.4`."""
    from panel.release.given import read_given as read

    found: dict[str, Given] = {}
    for value in values:
        try:
            cask, each = read(value)
        except ReleaseError as error:
            raise click.BadParameter(str(error)) from None
        if cask in found:
            raise click.BadParameter(f"cask {cask} stands twice")
        found[cask] = each
    return found


def _with_rests(
    given: dict[str, Given], empty: tuple[str, ...], keeps: tuple[str, ...]
) -> dict[str, Given]:
    """Add what was said of casks: that they are empty, or that the rest stays in them."""
    from dataclasses import replace

    if unknown := sorted({*empty, *keeps} - given.keys()):
        raise click.UsageError(f"Say what cask {', '.join(unknown)} gave: --cask CASK=LITRES@ABV.")
    if both := sorted(set(empty) & set(keeps)):
        raise click.UsageError(f"Cask {', '.join(both)} is empty or keeps the rest, not both.")
    said = {**dict.fromkeys(empty, True), **dict.fromkeys(keeps, False)}
    return {
        cask: replace(each, empty=said[cask]) if cask in said else each
        for cask, each in given.items()
    }


@click.command("disgorge")
@click.argument("name", shell_complete=a_release)
@click.option(
    "--cask",
    "given",
    multiple=True,
    required=True,
    callback=read_given,
    metavar="CASK=LITRES@ABV",
    help="What a cask gave, at 20 °C; once for each cask.",
)
@click.option(
    "--empty",
    multiple=True,
    metavar="CASK",
    help="It is empty, whatever it gave.",
    shell_complete=a_cask,
)
@click.option(
    "--keeps",
    multiple=True,
    metavar="CASK",
    help="What it did not give stays in it.",
    shell_complete=a_cask,
)
@click.option("--vat-litres", type=NUMBER, help="The vat as measured, at 20 °C.")
@click.option("--vat-abv", type=NUMBER, help="The vat as measured, % vol.")
@click.option("--try", "only_try", is_flag=True, help="Only show; keep nothing.")
@on_option
@json_option
@pass_invocation
def disgorge(
    inv: Invocation,
    name: str,
    given: dict[str, Given],
    empty: tuple[str, ...],
    keeps: tuple[str, ...],
    vat_litres: float | None,
    vat_abv: float | None,
    only_try: bool,
    on: date | None,
    as_json: bool,
) -> None:
    """Keep what each cask really gave; shares, age, water and bottles follow from it.

    A cask that gave nothing stays and is free. One that was to be emptied and gave under nine
    tenths keeps the rest unless --empty says otherwise. A cask that was not planned goes out again
    when the release is disgorged anew without it.
    """
    from panel.questions.profile import house_profile
    from panel.records.acts import Act
    from panel.release.benched import nosed_blend
    from panel.release.disgorging import check_disgorging, try_disgorging
    from panel.release.disgorging import disgorge as keep

    given = _with_rests(given, empty, keeps)
    by = inv.by if only_try else inv.proved(Act.DISGORGE)
    with inv.reading() as db:  # the reckoning takes seconds: no booth waits for it
        day = on or inv.today(db)
        vat = {"vat_litres": vat_litres, "vat_abv": vat_abv}
        check_disgorging(db, name, given, on=day, now=inv.now(), **vat)
        profile = house_profile(db, as_of=day)
        if only_try:
            found = try_disgorging(db, name, given, on=day, now=inv.now(), profile=profile, **vat)
    if not only_try:
        with inv.writing() as db:
            found = keep(db, name, given, on=day, now=inv.now(), by=by, profile=profile, **vat)
    with inv.reading() as db:
        nosed = nosed_blend(db, name, as_of=day, profile=profile)
    if as_json:
        emit_json(Disgorged(name, not only_try, found, nosed))
        return
    click.echo("\n".join([*outcome_lines(name, found), *benched_lines(nosed)]))
    if only_try:
        say("Nothing was kept.")


@click.command("sign")
@click.argument("name", shell_complete=a_release)
@click.option(
    "--by",
    "signer",
    metavar="CODE",
    help="Who signs, and types their own PIN.",
    shell_complete=a_person,
)
@click.option("--despite", metavar="REASON", help="Sign although something stands against it.")
@on_option
@json_option
@pass_invocation
def sign(
    inv: Invocation,
    name: str,
    signer: str | None,
    despite: str | None,
    on: date | None,
    as_json: bool,
) -> None:
    """Sign a disgorged release as a second person (--by); it gets its lot code."""
    from dataclasses import replace

    from panel.records.acts import Act
    from panel.release.signing import before_signing
    from panel.release.steps import sign as keep

    inv = inv if signer is None else replace(inv, by=signer)
    by = inv.proved(Act.SIGN)
    with inv.reading() as db:  # the reckoning takes seconds: no booth waits for it
        day = on or inv.today(db)
        seen = before_signing(db, name, on=day)
    for line in [] if as_json else signing_lines(seen.record):
        click.echo(line)
    with inv.writing() as db:
        release = keep(
            *(db, name), on=day, now=inv.now(), by=by, despite=despite, profile=seen.profile
        )
        record = seen.record
        found = Signed(
            release=name,
            lot_code=release.lot_code,
            signed_by=release.signed_by,
            signed_despite=release.signed_despite,
            differences=tuple((record["found"] or {})["differences"]),
            agreed=tuple(record["agreed"]),
            against=tuple(record["against"]),
            nosed=record["nosed"],
        )
    if as_json:
        emit_json(found)
    else:
        click.echo(f"Release {name} is signed by {found.signed_by}: lot {found.lot_code}.")


@click.command("bottle")
@click.argument("name", shell_complete=a_release)
@click.option("--bottles", type=int, help="Bottles really filled; else as reckoned.")
@on_option
@json_option
@pass_invocation
def bottle(inv: Invocation, name: str, bottles: int | None, on: date | None, as_json: bool) -> None:
    """Freeze a signed release: casks are emptied in the records, nothing changes any more."""
    from panel.records.acts import Act
    from panel.release.steps import bottle as keep

    by = inv.proved(Act.BOTTLE)
    with inv.writing() as db:
        release = keep(db, name, bottles=bottles, on=on or inv.today(db), now=inv.now(), by=by)
        found = Bottled(name, release.lot_code, release.bottles)
    if as_json:
        emit_json(found)
    else:
        click.echo(
            f"Release {name}, lot {found.lot_code}: {in_digits(found.bottles, ',')} "
            "bottles. Frozen."
        )
        say("Duty and label: check with your excise officer and your label adviser.")


@click.command("cancel")
@click.argument("name", shell_complete=a_release)
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
        emit_json(Cancelled(name))
    else:
        click.echo(f"Release {name} is cancelled; its casks are free.")

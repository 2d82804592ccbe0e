"""How notes mix: what nosed bench blends teach, kept; an exponent set by hand."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.cli.release_documents import MixingTold
from panel.cli.vat_options import read_exponents
from panel.figures import in_digits
from panel.words.release import mixing_lines

if TYPE_CHECKING:
    from analysis.vatting import MixingLearned


@click.command("mixing")
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
        emit_json(MixingTold(found, tuple(kept)))
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
        click.echo(f"{name} mixes with exponent {in_digits(exponent, 'g')} from now on.")

"""`oakpanel profile`: what each cask is like, over all sessions."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.errors import UnknownRecord
from panel.store.finding import nearest_words

if TYPE_CHECKING:
    from analysis.profile import Profile


@click.command("profile")
@click.argument("samples", nargs=-1, metavar="[SAMPLE|CASK ...]")
@as_of_option
@json_option
@pass_invocation
def command(inv: Invocation, samples: tuple[str, ...], as_of: date | None, as_json: bool) -> None:
    """Show what each sample is like: the mean score the panel would be expected to give."""
    from panel.report.answers import profile_lines
    from panel.report.reckoning import house_profile

    with inv.open().read() as db:
        result = house_profile(db, as_of=as_of or inv.today(db))
    chosen = [sample for name in samples for sample in _samples_of(result, name)]
    if as_json:
        document = result.to_dict()
        if chosen:
            document["samples"] = [s for s in document["samples"] if s["sample"] in chosen]
        emit_json(document)
        return
    click.echo("\n".join(profile_lines(result, chosen)))


def _samples_of(result: Profile, name: str) -> list[str]:
    """Return the sample of that name, or all samples of the cask of that number."""
    known = result.estimates.drop_duplicates("sample")
    if name in set(known["sample"]):
        return [name]
    found = [str(sample) for sample in known.loc[known["cask"] == name, "sample"]]
    if not found:
        every = [*known["sample"], *known["cask"].dropna()]
        raise UnknownRecord(f"No revealed session has nosed {name!r}.{nearest_words(name, every)}")
    return found

"""`oakpanel agreement`: can this panel be trusted?"""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation
from panel.errors import NotAllowed, UnknownRecord

if TYPE_CHECKING:
    from analysis.agreement import Agreement


@click.command("agreement")
@click.argument("session")
@click.option("--assessor", metavar="CODE", help="One assessor's page.")
@click.option("--descriptor", metavar="NAME", help="One descriptor's page.")
@click.option(
    "--seed", type=int, default=1, show_default=True, help="For permutations, bootstraps."
)
@click.option(
    "--private", is_flag=True, help="Add what is for one person and the lead; asks a PIN."
)
@as_of_option
@json_option
@pass_invocation
def command(
    inv: Invocation,
    session: str,
    assessor: str | None,
    descriptor: str | None,
    seed: int,
    private: bool,
    as_of: date | None,
    as_json: bool,
) -> None:
    """Say which descriptors and which assessors of SESSION to believe."""
    from panel.report.reckoning import session_agreement

    store = inv.open()
    if private:
        confirm_lead(inv)
    with store.read() as db:
        result = session_agreement(db, session, as_of=as_of, seed=seed)
    if as_json:
        emit_json(_chosen(result, assessor, descriptor, private))
        return
    click.echo("\n".join(_lines(result, assessor, descriptor, private)))


def confirm_lead(inv: Invocation) -> None:
    """Ask for a lead's PIN before anything that is close to a person's health.

    Raises
    ------
    NotAllowed
        The PIN is wrong, or no lead has one.
    """
    from panel.store.people import Role
    from panel.store.pins import check_pin
    from panel.store.who import acting_person

    with inv.open().read() as db:
        lead = acting_person(db, inv.by, Role.LEAD)
    if lead.pin_hash is None:
        raise NotAllowed(f"{lead.code} has no PIN yet: `oakpanel people pin {lead.code}` sets one.")
    pin = click.prompt(f"PIN of {lead.code}", hide_input=True, err=True)
    if not check_pin(pin, lead.pin_hash):
        raise NotAllowed("That is not the PIN; nothing is shown.")


def _chosen(
    result: Agreement, assessor: str | None, descriptor: str | None, private: bool
) -> dict[str, object]:
    found = result.to_dict(private=private)
    if descriptor is not None:
        _known(descriptor, [note.descriptor for note in result.descriptors], "descriptor")
        found["descriptors"] = [d for d in found["descriptors"] if d["descriptor"] == descriptor]
    if assessor is not None:
        _known(assessor, [person.assessor for person in result.assessors], "assessor")
        found["assessors"] = [a for a in found["assessors"] if a["assessor"] == assessor]
    return found


def _lines(
    result: Agreement, assessor: str | None, descriptor: str | None, private: bool
) -> list[str]:
    from panel.report.answers import (
        agreement_lines,
        assessor_lines,
        descriptor_lines,
        private_lines,
    )

    if assessor is None and descriptor is None:
        return agreement_lines(result, private=private)
    lines: list[str] = []
    if descriptor is not None:
        _known(descriptor, [note.descriptor for note in result.descriptors], "descriptor")
        lines += descriptor_lines(result.descriptor(descriptor))
    if assessor is not None:
        _known(assessor, [person.assessor for person in result.assessors], "assessor")
        for person in result.assessors:
            if person.assessor == assessor:
                lines += assessor_lines(person)
        facts = [fact for fact in result.private if fact.assessor == assessor]
        lines += private_lines(facts) if private else []
    return lines


def _known(name: str, names: list[str], what: str) -> None:
    if name not in names:
        raise UnknownRecord(
            f"{name!r} is no {what} of this session. There are: {', '.join(names)}."
        )

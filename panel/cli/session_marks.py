"""What a lead makes of a glass: marked, a suspected swap cleared, after the reveal by a reason."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json
from panel.cli.completing import a_person, a_session
from panel.cli.documents import Cleared, Marked, OnTray, ReadAs
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.session_acting import leading

NOT_SAFE, SAFE_AGAIN = "not-safe", "safe-again"
MARKS = ("void", "re-poured", "swap-suspected", "kept", NOT_SAFE, SAFE_AGAIN)


@click.command()
@click.argument("name", shell_complete=a_session)
@click.argument("assessor", shell_complete=a_person)
@click.argument("code")
@click.argument("status", type=click.Choice(MARKS), required=False)
@click.option("--note", help="Why; kept with the mark.")
@click.option("--take-back", is_flag=True, help="Take your last mark back, within ten minutes.")
@click.option(
    "--after-reveal", is_flag=True, help="Void or kept, although the key is known; asks a --note."
)
@json_option
@pass_invocation
def mark(
    inv: Invocation,
    name: str,
    assessor: str,
    code: str,
    status: str | None,
    note: str | None,
    take_back: bool,
    after_reveal: bool,
    as_json: bool,
) -> None:
    """Mark glass CODE of ASSESSOR in NAME before the reveal. Scores are kept.

    `not-safe` (solvent, fuel, cleaner, a chipped glass) stops what is in it for everybody at
    once, under all its codes: every such glass is void, as when a booth says so. `safe-again`, with
    a --note, brings all of them back as they were.
    A revealed session takes a mark with --after-reveal only, and its reason stands in the log.
    """
    if take_back == (status is not None):
        raise click.UsageError("Give a mark, or --take-back.")
    if status is None:
        _take_back(inv, name, assessor, code, as_json)
        return
    if status in (NOT_SAFE, SAFE_AGAIN):
        if after_reveal:
            raise click.UsageError(f"{status} is a mark of before the reveal.")
        _stop(inv, (name, assessor, code), note, lift=status == SAFE_AGAIN, as_json=as_json)
        return
    from panel.kinds import ServingStatus
    from panel.records.acts import Act
    from panel.session.late_marks import mark_after_reveal
    from panel.session.marks import mark_glass

    wanted = ServingStatus(status.replace("swap-", "swap_"))
    glass, now = (name, assessor, code, wanted), inv.now()
    with leading(inv, Act.MARK) as acting:
        db, by = acting.db, acting.by
        if after_reveal:
            standing = mark_after_reveal(db, *glass, now=now, by=by, reason=note or "")
        else:
            standing = mark_glass(db, *glass, now=now, by=by, note=note)
    if as_json:
        emit_json(Marked(name, assessor, code, wanted, standing.pouring))
    else:
        click.echo(f"Glass {code} of {assessor}: {status}. Its scores are kept.")


def _stop(
    inv: Invocation, which: tuple[str, str, str], note: str | None, *, lift: bool, as_json: bool
) -> None:
    from panel.records.acts import Act
    from panel.session.stopping import lift_stop, stop_draw

    with leading(inv, Act.MARK) as acting:
        db, by, now = acting.db, acting.by, inv.now()
        if lift:
            done = lift_stop(db, *which, now=now, by=by, reason=note or "")
        else:
            done = stop_draw(db, *which, now=now, by=by, note=note)
    if not as_json:
        click.echo(done.lifted_sentence() if lift else done.sentence())
        return
    from panel.kinds import ServingStatus

    session, assessor, code = which
    glasses = tuple(OnTray(each.assessor, each.code) for each in done.glasses)
    stands = ServingStatus.KEPT if lift else ServingStatus.VOID
    emit_json(Marked(session, assessor, code, stands, done.pouring, glasses))


def _take_back(inv: Invocation, name: str, assessor: str, code: str, as_json: bool) -> None:
    from panel.records.acts import Act
    from panel.session.marks_back import take_mark_back

    with leading(inv, Act.MARK) as acting:
        now, by = inv.now(), acting.by
        glass = take_mark_back(acting.db, name, assessor, code, now=now, by=by)
        stands = Marked(name, assessor, code, glass.status, glass.pouring)
    if as_json:
        emit_json(stands)
    else:
        status = stands.status.value
        click.echo(f"Glass {code} of {assessor}: the last mark is taken back; it is {status}.")


@click.command()
@click.argument("name", shell_complete=a_session)
@click.argument("assessor", shell_complete=a_person)
@click.argument("code")
@click.argument("outcome", type=click.Choice(["stood", "exchanged"]))
@click.option("--with", "other", metavar="CODE", help="The other glass of the two.")
@click.option("--note", help="How it was found out; kept with the mark.")
@json_option
@pass_invocation
def clear(
    inv: Invocation,
    name: str,
    assessor: str,
    code: str,
    outcome: str,
    other: str | None,
    note: str | None,
    as_json: bool,
) -> None:
    """Clear a suspected swap of ASSESSOR's glass CODE in NAME, before the reveal.

    `stood`: the glass is read as recorded. `exchanged`: it and the one of --with are read under
    each other's code; what was written stays.
    """
    from panel.kinds import SwapOutcome
    from panel.records.acts import Act
    from panel.session.clearing import clear_swap

    with leading(inv, Act.MARK) as acting:
        glasses = clear_swap(
            *(acting.db, name, assessor, code, SwapOutcome(outcome)),
            now=inv.now(),
            by=acting.by,
            other=other,
            note=note,
        )
        read = tuple(ReadAs(glass.code, glass.read_as or glass.code) for glass in glasses)
    if as_json:
        emit_json(Cleared(name, assessor, SwapOutcome(outcome), read))
    else:
        for each in read:
            click.echo(f"Glass {each.code} of {assessor} is read as {each.read_as}.")

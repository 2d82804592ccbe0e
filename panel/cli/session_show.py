"""One session as its stage allows to show it: plan, progress, key, and every glass as scored."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json, tell
from panel.cli.completing import a_session
from panel.cli.invocation import Invocation, json_option, pass_invocation


@click.command()
@click.argument("name", shell_complete=a_session)
@click.option(
    "--pours", is_flag=True, help="Of a draft what to draw: tells what is poured twice; asks a PIN."
)
@click.option("--scores", is_flag=True, help="Every glass as it was scored, once it is closed.")
@click.option(
    "--private", is_flag=True, help="With --scores who was not at their best; asks a PIN."
)
@json_option
@pass_invocation
def show(
    inv: Invocation, name: str, pours: bool, scores: bool, private: bool, as_json: bool
) -> None:
    """Show NAME: a draft's plan, then codes and progress, and the key once it is revealed.

    --scores: glass by glass, with what was marked and written; in codes before the reveal.
    """
    from panel.errors import WrongState
    from panel.kinds import SessionStatus
    from panel.records.acts import Act
    from panel.session.showing import session_view

    if private and not scores:
        raise click.UsageError("--private goes with --scores.")
    if scores:
        _show_scores(inv, name, private=private, as_json=as_json)
        return
    if pours:
        inv.proved(Act.KEY_SHEET)
    with inv.reading() as db:
        view = session_view(db, name, pours=pours)
    if pours and view.line.status != SessionStatus.DRAFT.value:
        raise WrongState(
            f"Session {name} is {view.line.status}: --pours is of a draft. What is poured stands "
            f"on `oakpanel session sheets {name}`."
        )
    if as_json:
        emit_json(view)
    else:
        click.echo("\n".join(view.lines()))


def _show_scores(inv: Invocation, name: str, *, private: bool, as_json: bool) -> None:
    from panel.cli.looking import confirm_lead, confirm_unfinished
    from panel.questions.glasses import session_glasses
    from panel.words.glass_words import session_glass_lines

    if private:
        confirm_lead(inv, name)
    else:
        confirm_unfinished(inv, (name,))
    with inv.reading() as db:
        found = session_glasses(db, name, private_on=inv.today(db) if private else None)
    if as_json:
        emit_json(found)
    else:
        tell("\n".join(session_glass_lines(found)))

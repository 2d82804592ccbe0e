"""`oakpanel cask`: the list of casks, or one cask's life."""

from __future__ import annotations

from dataclasses import asdict
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.answers import emit_json, table
from panel.cli.invocation import Invocation, as_of_option, json_option, pass_invocation

if TYPE_CHECKING:
    from panel.store.cask_life import CaskLife, CaskLine
    from panel.store.filling_states import FillingState


@click.command("cask")
@click.argument("number", required=False)
@as_of_option
@json_option
@pass_invocation
def command(inv: Invocation, number: str | None, as_of: date | None, as_json: bool) -> None:
    """Show one cask's life, or the list of all casks."""
    from panel.store.cask_life import cask_life, cask_lines

    with inv.open(readonly=True).read() as db:
        day = as_of or inv.today(db)
        if number is None:
            show_list(cask_lines(db, day), day, as_json)
        else:
            show_life(cask_life(db, number, day), as_json)


def show_list(lines: list[CaskLine], day: date, as_json: bool) -> None:
    """Print the list of casks."""
    if as_json:
        emit_json({"as_of": day, "casks": [line_dict(line) for line in lines]})
        return
    headings = ("cask", "wood", "make", "fill", "age", "litres", "% vol", "place", "state")
    click.echo(table(headings, [_row(line) for line in lines]))


def _row(line: CaskLine) -> tuple[object, ...]:
    state = line.state
    if state is None:
        return (line.number, line.wood, "", "", "", "", "", "", "empty")
    return (
        *(line.number, line.wood, state.make or "of several", state.fill_number),
        *(f"{state.age_years:.1f}", f"{state.bulk_l:.0f}", f"{state.abv:.1f}"),
        *(state.place.words(), state.status),
    )


def line_dict(line: CaskLine) -> dict[str, Any]:
    """Return one cask of the list for JSON."""
    contents = None if line.state is None else state_dict(line.state)
    return {"cask": line.number, "wood": line.wood, "size_l": line.size_l, "filling": contents}


def state_dict(state: FillingState) -> dict[str, Any]:
    """Return a filling's state for JSON, units in the names."""
    return {
        "filling": state.label,
        "make": state.make,
        "phenol_ppm": state.phenol_ppm,
        "previous": state.previous,
        "fill_number": state.fill_number,
        "filled_on": state.filled_on,
        "age_years": state.age_years,
        "bulk_litres": state.bulk_l,
        "abv_percent": state.abv,
        "lpa": state.lpa,
        "gauged_on": state.gauge.on,
        "gauge_age_years": state.gauge_age_years,
        "place": asdict(state.place),
        "owner": state.owner,
        "hold_reason": state.hold_reason,
        "reserved_litres": state.reserved_l,
        "reserved_whole": state.reserved_whole,
        "emptied_on": state.emptied_on,
        "status": state.status,
    }


def show_life(life: CaskLife, as_json: bool) -> None:
    """Print one cask's life."""
    if as_json:
        emit_json(life_dict(life))
        return
    click.echo(f"Cask {life.number}: {life.wood}, {life.size_l:g} L")
    if life.today is None:
        click.echo("Empty.")
    else:
        click.echo(today_words(life.today))
    for flag in life.flags:
        click.echo(f"! {flag}")
    click.echo("")
    rows = [(e.happened_on, e.kind, e.filling, e.words) for e in life.entries]
    click.echo(table(("date", "what", "filling", "details"), rows))


def today_words(state: FillingState) -> str:
    """Return in one line what lies in the cask."""
    spirit = state.make or "spirit of several makes"
    words = (
        f"{state.label}: {spirit}, {state.age_years:.1f} years, {state.bulk_l:.0f} L at "
        f"{state.abv:g} % ({state.lpa:.1f} L pure), gauged {state.gauge.on}"
    )
    return f"{words}; {state.place.words()}; {state.status}"


def life_dict(life: CaskLife) -> dict[str, Any]:
    """Return a cask's life for JSON."""
    return {
        "cask": life.number,
        "wood": life.wood,
        "size_l": life.size_l,
        "as_of": life.as_of,
        "fillings": [state_dict(state) for state in life.fillings],
        "entries": [asdict(entry) for entry in life.entries],
        "flags": list(life.flags),
    }

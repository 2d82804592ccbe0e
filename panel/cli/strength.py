"""`oakpanel strength`: trade arithmetic by OIML R 22."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json
from panel.cli.invocation import json_option

CAUTION = (
    "Spirit above about 20 % vol gives off vapour that can catch fire: small volumes, air, no "
    "flame. Figures for duty are your excise authority's to accept."
)


@click.group("strength")
def command() -> None:
    """Water, vatting and gauging arithmetic by OIML R 22; litres at 20 °C."""


@command.command("reduce")
@click.option("--litres", type=float, required=True, help="Spirit, litres at 20 °C.")
@click.option("--from", "from_abv", type=float, required=True, help="Its strength, % vol.")
@click.option("--to", "to_abv", type=float, required=True, help="The strength wanted, % vol.")
@json_option
def reduce(litres: float, from_abv: float, to_abv: float, as_json: bool) -> None:
    """Water that brings spirit down to a strength."""
    from panel.questions.strength import reduced

    found = reduced(litres, from_abv, to_abv)
    if as_json:
        emit_json(found)
        return
    click.echo(
        f"{litres:g} L at {from_abv:g} % vol: add {found.water_litres:.2f} L of water "
        f"({found.water_kg:.2f} kg) to reach {to_abv:g} % vol.\n"
        f"Together {found.final_litres:.2f} L; mixing shrinks it by "
        f"{found.contraction_litres:.2f} L. Pure alcohol {found.lpa:.3f} L."
    )
    click.echo(CAUTION, err=True)


def _read_part(_ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> object:
    parts = []
    for value in values:
        litres, separator, abv = value.partition("@")
        try:
            parts.append((float(litres), float(abv)))
        except ValueError:
            separator = ""
        if not separator:
            raise click.BadParameter(f"{value!r} is not litres@strength such as 190@57.1")
    return tuple(parts)


@command.command("marry")
@click.option(
    "--part",
    "parts",
    multiple=True,
    required=True,
    callback=_read_part,
    metavar="LITRES@ABV",
    help="One cask's litres and strength; once for each cask.",
)
@json_option
def marry(parts: tuple[tuple[float, float], ...], as_json: bool) -> None:
    """Vat any number of parts by mass."""
    from panel.questions.strength import married

    found = married(parts)
    if as_json:
        emit_json(found)
        return
    click.echo(
        f"{found.bulk_litres:.2f} L at {found.abv_percent:.2f} % vol, {found.lpa:.3f} L of pure "
        f"alcohol.\nThe parts add up to {found.sum_of_parts_litres:.2f} L; mixing shrinks them by "
        f"{found.contraction_litres:.2f} L."
    )
    click.echo(CAUTION, err=True)


@command.command("at-20")
@click.option("--litres", type=float, required=True, help="Volume as gauged.")
@click.option("--abv", type=float, required=True, help="True strength at 20 °C, % vol.")
@click.option("--temperature", type=float, required=True, help="Of the spirit, °C.")
@json_option
def at_20(litres: float, abv: float, temperature: float, as_json: bool) -> None:
    """Bring a volume gauged at another temperature to 20 °C."""
    from panel.questions.strength import at_20 as at_20_degrees

    found = at_20_degrees(litres, abv, temperature)
    if as_json:
        emit_json({"litres_at_20": found, "lpa": found * abv / 100})
        return
    click.echo(f"{litres:g} L at {temperature:g} °C are {found:.2f} L at 20 °C.")


@command.command("weigh")
@click.option("--kg", type=float, required=True, help="Net weight in air.")
@click.option("--abv", type=float, required=True, help="True strength at 20 °C, % vol.")
@json_option
def weigh(kg: float, abv: float, as_json: bool) -> None:
    """Gauge a cask by its net weight in air."""
    from panel.questions.strength import weighed

    found = weighed(kg, abv)
    if as_json:
        emit_json(found)
        return
    click.echo(
        f"{kg:g} kg in air at {abv:g} % vol are {found.litres:.2f} L at 20 °C, "
        f"{found.lpa:.3f} L of pure alcohol."
    )

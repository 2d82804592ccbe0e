"""`oakpanel strength`: trade arithmetic by OIML R 22."""

from __future__ import annotations

import click

from panel.cli.answers import emit_json, say
from panel.cli.documents import At20, EmptySpace, TrueStrength
from panel.cli.invocation import Invocation, json_option, pass_invocation
from panel.cli.number import NUMBER
from panel.errors import OakpanelError
from panel.words import strength_words as words


@click.group("strength")
@pass_invocation
def command(inv: Invocation) -> None:
    """Water, vatting and gauging arithmetic by OIML R 22; litres at 20 °C."""
    inv.write_as_any_house()


@command.command("reduce")
@click.option("--litres", type=NUMBER, help="Spirit, litres at 20 °C.")
@click.option("--ml", type=NUMBER, help="Or: spirit in millilitres.")
@click.option("--from", "from_abv", type=NUMBER, required=True, help="Its strength, % vol.")
@click.option("--to", "to_abv", type=NUMBER, required=True, help="The strength wanted, % vol.")
@json_option
def reduce(
    litres: float | None, ml: float | None, from_abv: float, to_abv: float, as_json: bool
) -> None:
    """Water that brings spirit down to a strength."""
    from panel.questions.strength import reduced

    if (litres is None) == (ml is None):
        raise click.UsageError("Give the spirit once: --litres or --ml.")
    litres = (ml or 0.0) / 1000.0 if litres is None else litres
    found = reduced(litres, from_abv, to_abv)
    if as_json:
        emit_json(found)
        return
    click.echo(words.reduced_words(litres, from_abv, to_abv, found))
    say(words.CAUTION)


def _read_part(_ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]) -> object:
    from panel.questions.strength import read_part

    try:
        return tuple(read_part(value) for value in values)
    except OakpanelError as error:
        raise click.BadParameter(str(error)) from error


def _read_one(ctx: click.Context, param: click.Parameter, value: str) -> object:
    parts = _read_part(ctx, param, (value,))
    return parts[0] if isinstance(parts, tuple) else parts


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
    click.echo(words.married_words(found))
    say(words.CAUTION)


@command.command("at-20")
@click.option("--litres", type=NUMBER, required=True, help="Volume as gauged.")
@click.option("--abv", type=NUMBER, required=True, help="True strength at 20 °C, % vol.")
@click.option("--temperature", type=NUMBER, required=True, help="Of the spirit, °C.")
@json_option
def at_20(litres: float, abv: float, temperature: float, as_json: bool) -> None:
    """Bring a volume gauged at another temperature to 20 °C."""
    from panel.questions.strength import at_20 as at_20_degrees

    found = at_20_degrees(litres, abv, temperature)
    if as_json:
        emit_json(At20(found, found * abv / 100))
        return
    click.echo(words.at_20_words(litres, temperature, found))


@command.command("weigh")
@click.option("--kg", type=NUMBER, required=True, help="Net weight in air.")
@click.option("--abv", type=NUMBER, required=True, help="True strength at 20 °C, % vol.")
@json_option
def weigh(kg: float, abv: float, as_json: bool) -> None:
    """Gauge a cask by its net weight in air."""
    from panel.questions.strength import weighed

    found = weighed(kg, abv)
    if as_json:
        emit_json(found)
        return
    click.echo(words.weighed_words(kg, abv, found))


@command.command("read")
@click.option("--reading", type=NUMBER, help="What the instrument shows, % vol.")
@click.option("--density", type=NUMBER, help="Or: density at the temperature, kg/m3.")
@click.option("--temperature", type=NUMBER, required=True, help="Of the spirit, °C.")
@click.option(
    "--instrument",
    type=click.Choice(["hydrometer", "meter"]),
    default="hydrometer",
    show_default=True,
    help="A glass hydrometer, or a density meter that shows strength.",
)
@json_option
def read(
    reading: float | None,
    density: float | None,
    temperature: float,
    instrument: str,
    as_json: bool,
) -> None:
    """True strength from a reading at another temperature than 20 °C."""
    from panel.questions.strength import true_strength

    if (reading is None) == (density is None):
        raise click.UsageError("Give what was read once: --reading or --density.")
    found = true_strength(reading, density, temperature, glass=instrument == "hydrometer")
    if as_json:
        emit_json(TrueStrength(found))
        return
    click.echo(words.read_words(reading, density, temperature, found))


@command.command("loss")
@click.option("--start", required=True, callback=_read_one, metavar="LITRES@ABV", help="Then.")
@click.option("--end", required=True, callback=_read_one, metavar="LITRES@ABV", help="Now.")
@click.option("--years", type=NUMBER, required=True, help="Between the two gauges.")
@json_option
def loss(start: tuple[float, float], end: tuple[float, float], years: float, as_json: bool) -> None:
    """What a cask lost a year between two gauges, nothing having been drawn."""
    from panel.questions.strength import lost

    found = lost(start, end, years)
    if as_json:
        emit_json(found)
        return
    click.echo(words.lost_words(found))


@command.command("ullage")
@click.option("--size", type=NUMBER, required=True, help="What the cask holds full, litres.")
@click.option("--litres", type=NUMBER, required=True, help="What is in it, litres at 20 °C.")
@json_option
def ullage(size: float, litres: float, as_json: bool) -> None:
    """Empty space in a cask."""
    from panel.questions.strength import empty_space

    found = empty_space(size, litres)
    if as_json:
        emit_json(EmptySpace(found))
        return
    click.echo(words.ullage_words(size, found))


@command.command("until")
@click.option("--start-abv", type=NUMBER, required=True, help="Strength at the first gauge.")
@click.option("--end-abv", type=NUMBER, required=True, help="Strength at the second gauge.")
@click.option("--years", type=NUMBER, required=True, help="Between the two gauges.")
@click.option("--floor", type=NUMBER, default=40.0, show_default=True, help="Down to, % vol.")
@json_option
def until(start_abv: float, end_abv: float, years: float, floor: float, as_json: bool) -> None:
    """Years until the strength of a cask reaches a floor, on a straight line."""
    from panel.questions.strength import years_left

    found = years_left(start_abv, end_abv, years, floor)
    if as_json:
        emit_json(found)
        return
    click.echo(words.until_words(floor, found))

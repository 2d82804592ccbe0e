"""What can be asked of a vatting on the command line: shared by `vat` and `release propose`."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING, Any

import click

from panel.cli.invocation import read_near_date
from panel.cli.number import NUMBER
from panel.figures import typed_number
from panel.questions.vat_limits import BASES, GAUGES

if TYPE_CHECKING:
    from analysis.vatting import Limits

OPTIONS = (
    click.option("--bottles", type=int, help="How many bottles."),
    click.option("--litres", type=NUMBER, help="Or: litres at bottling strength."),
    click.option("--bottle-ml", type=NUMBER, default=700.0, show_default=True, help="Content, mL."),
    click.option(
        "--abv", default="46", show_default=True, help="Bottling strength, % vol; `vat`: no water."
    ),
    click.option(
        "--loss", type=NUMBER, default=0.015, show_default=True, help="Lost in filling, fraction."
    ),
    click.option(
        "--over",
        type=NUMBER,
        metavar="PERCENT",
        help=(
            "How far over the quantity it may go by what is surely in each cask; 3 with whole "
            "casks, 1 with parts."
        ),
    ),
    click.option("--age", type=int, help="Age that the label states, whole years."),
    click.option(
        "--share",
        "shares",
        multiple=True,
        metavar="RECORD=VALUE:SHARE",
        help="Such as 'wood=European oak butt:0.3' or 'make=A|B:25-35%'; any record of a cask.",
    ),
    click.option(
        "--basis",
        type=click.Choice(BASES),
        default="bulk",
        show_default=True,
        help="What shares are shares of.",
    ),
    click.option("--casks", metavar="MIN-MAX", help="Number of casks, such as 10-40."),
    click.option("--whole/--part", default=True, help="Casks whole (as usual) or parts of casks."),
    click.option(
        "--smallest-draw", type=NUMBER, default=20.0, show_default=True, help="Litres, with --part."
    ),
    click.option("--leave", type=NUMBER, help="Leave so many litres or none, with --part."),
    click.option("--with", "include", multiple=True, metavar="CASK", help="Must be in."),
    click.option("--without", "exclude", multiple=True, metavar="CASK", help="Must not be in."),
    click.option("--with-held", is_flag=True, help="Casks leaking, on hold or of others too."),
    click.option(
        "--old-gauges",
        type=click.Choice(GAUGES),
        default="refuse",
        show_default=True,
        help="What to do with casks gauged too long ago.",
    ),
    click.option(
        "--bottling-date",
        callback=read_near_date,
        metavar="DATE",
        help="Casks as they will be then.",
    ),
    click.option(
        "--exponent",
        "exponents",
        multiple=True,
        metavar="NOTE=N",
        help="How a note mixes: 1 in proportion, below 1 more than its share.",
    ),
)


def limit_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command every option of a vatting."""
    for option in reversed(OPTIONS):
        command = option(command)
    return command


def read_limits(
    bottles: int | None,
    litres: float | None,
    bottle_ml: float,
    abv: str,
    loss: float,
    over: float | None,
    age: int | None,
    shares: tuple[str, ...],
    basis: str,
    casks: str | None,
    whole: bool,
    smallest_draw: float,
    leave: float | None,
    include: tuple[str, ...],
    exclude: tuple[str, ...],
    old_gauges: str,
    bottling_date: date | None,
) -> Limits:
    """Return the limits that the options say; a cask named with --with counts as asked for."""
    from panel.questions import vat_limits

    return vat_limits.read_limits(
        bottles=bottles,
        litres=litres,
        bottle_ml=bottle_ml,
        abv_percent=_strength(abv),
        loss_fraction=loss,
        over_percent=over,
        age=age,
        shares=shares,
        basis=basis,
        casks=casks,
        whole=whole,
        smallest_draw=smallest_draw,
        leave=leave,
        include=include,
        exclude=exclude,
        old_gauges=old_gauges,
        bottling_on=bottling_date,
    )


def _strength(text: str) -> float | None:
    if text == "vat":
        return None
    try:
        return typed_number(text)
    except ValueError:
        raise click.BadParameter(
            f"{text!r} is not a strength such as 46, nor `vat`", param_hint="--abv"
        ) from None


def read_exponents(given: tuple[str, ...]) -> dict[str, float]:
    """Return exponents by note from words such as `hearth smoke=0.5`."""
    found = {}
    for text in given:
        name, equals, value = text.rpartition("=")
        try:
            found[name] = typed_number(value)
        except ValueError:
            equals = ""
        if not (equals and name):
            raise click.BadParameter(
                f"{text!r} is not a note and a number such as 'hearth smoke=0.5'",
                param_hint="--exponent",
            )
    return found

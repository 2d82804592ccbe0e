"""`oakpanel report influences | target | blend`: pages of what the stock may become."""

from __future__ import annotations

from datetime import date
from typing import Any

import click

from panel.cli.completing import a_note, a_release, a_target
from panel.cli.invocation import Invocation, as_of_option, pass_invocation, read_near_date
from panel.cli.page_out import to_option, write_page
from panel.cli.stock_part import part_options, stock_part
from panel.cli.vat_options import limit_options, read_exponents, read_limits
from panel.figures import typed_number


def read_litres(
    _ctx: click.Context, _param: click.Parameter, values: tuple[str, ...]
) -> dict[str, float]:
    """Read litres by cask, such as `SW1505=171.2`."""
    found: dict[str, float] = {}
    for value in values:
        cask, _, litres = value.rpartition("=")
        try:
            number = typed_number(litres)
        except ValueError:
            number = 0.0
        if not (cask and number > 0.0):
            raise click.BadParameter(f"{value!r} is not a cask and its litres, as SW1505=171.2")
        if cask in found:
            raise click.BadParameter(f"cask {cask} stands twice")
        found[cask] = number
    return found


@click.command("influences")
@click.argument("descriptor", required=False, shell_complete=a_note)
@to_option
@as_of_option
@pass_invocation
def influences(
    inv: Invocation, descriptor: str | None, place: str | None, as_of: date | None
) -> None:
    """What wood, fill, age, peat, strength and place do to all notes, or to DESCRIPTOR."""
    from panel.report.asked_stock import influences_report

    write_page(
        *(inv, place, f"influences-{descriptor}" if descriptor else "influences"),
        lambda db, today: influences_report(db, today=today, as_of=as_of, descriptor=descriptor),
    )


@click.command("target")
@click.argument("target", shell_complete=a_target)
@click.option(
    "--bottling-date", callback=read_near_date, metavar="DATE", help="Casks as they will be then."
)
@click.option("--with-held", is_flag=True, help="Rank barred casks too: leaking, held, reserved.")
@click.option("--seed", type=int, default=1, show_default=True, help="For the draws behind it.")
@to_option
@as_of_option
@pass_invocation
def target(
    inv: Invocation,
    target: str,
    bottling_date: date | None,
    with_held: bool,
    seed: int,
    place: str | None,
    as_of: date | None,
) -> None:
    """What TARGET asks of a release, and which casks suit it."""
    from panel.report.asked_stock import target_report

    write_page(
        *(inv, place, f"target-{target}"),
        lambda db, today: target_report(
            *(db, target),
            today=today,
            as_of=as_of,
            bottling_on=bottling_date,
            with_held=with_held,
            seed=seed,
        ),
    )


@click.command("blend")
@click.argument("target", shell_complete=a_target)
@limit_options
@click.option(
    "--take",
    multiple=True,
    callback=read_litres,
    metavar="CASK=LITRES",
    help="Put together by hand, once for each cask; else the best choice there is.",
)
@click.option(
    "--with-foretold",
    is_flag=True,
    help="Casks that nobody nosed too, as foretold from wood, fill, age and peat.",
)
@to_option
@as_of_option
@pass_invocation
def blend(
    inv: Invocation,
    /,
    target: str,
    take: dict[str, float],
    with_foretold: bool,
    place: str | None,
    as_of: date | None,
    with_held: bool,
    exponents: tuple[str, ...],
    **given: Any,
) -> None:
    """A blend for TARGET before it is a release: the best choice, or litres put together by hand.

    Asked as `oakpanel vat` is. Nothing is reserved: `oakpanel release propose` does that.
    """
    from panel.report.asked_stock import blend_report

    limits, potent = read_limits(**given), read_exponents(exponents)
    write_page(
        *(inv, place, f"blend-{target}"),
        lambda db, today: blend_report(
            *(db, target, limits),
            today=today,
            as_of=as_of,
            litres=take,
            with_held=with_held,
            exponents=potent,
            with_foretold=with_foretold,
        ),
    )


@click.command("stock")
@part_options
@to_option
@as_of_option
@pass_invocation
def stock(inv: Invocation, /, place: str | None, as_of: date | None, **part: Any) -> None:
    """What needs somebody in the warehouse, in walking order, and open remarks on bottles."""
    from panel.report.asked_stock import stock_report

    wanted = stock_part(**part)
    named = wanted.words()
    write_page(
        *(inv, place, f"stock-{named}" if named else "stock"),
        lambda db, today: stock_report(db, today=today, as_of=as_of, part=wanted),
    )


@click.command("lot")
@click.argument("lot", shell_complete=a_release)
@to_option
@pass_invocation
def lot(inv: Invocation, lot: str, place: str | None) -> None:
    """A lot from the bottle back: remarks, casks, draws, sessions, other lots, bottles kept."""
    from panel.report.asked_stock import lot_report

    write_page(inv, place, f"lot-{lot}", lambda db, today: lot_report(db, lot, today=today))

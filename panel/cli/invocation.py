"""What every command knows of its call: the database, who calls, and the moment."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import TYPE_CHECKING

import click

from panel.clock import Clock, utc_now
from panel.figures import hand
from panel.unswept import unswept

if TYPE_CHECKING:
    from panel.records.acts import Act
    from panel.store.engine import Session, Store


@dataclass(frozen=True)
class Invocation:
    """One call of `oakpanel`."""

    named: str | None = None
    by: str | None = None
    pin_file: str | None = None
    clock: Clock = utc_now

    def open(self, *, readonly: bool = False) -> Store:
        """Open the database that was named; say in words why it cannot be used."""
        from panel.store.opening import open_store

        store = open_store(self.named, readonly=readonly)
        write_as_the_house(store)
        return store

    def write_as_any_house(self) -> None:
        """Write decimals as the house does, where there is one: what is asked needs none."""
        from panel.errors import OakpanelError

        with suppress(OakpanelError):
            self.open(readonly=True).close()

    def now(self) -> datetime:
        """Return the present moment in UTC."""
        return self.clock().astimezone(UTC)

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a transaction that only reads; a command ends too soon for a sweep to pay."""
        with unswept(), closing(self.open(readonly=True)) as store, store.read() as db:
            yield db

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a transaction for one act; it is kept at the end, or nothing of it.

        What was kept for some time only and is past it is dropped before.
        """
        from panel.records.retention import drop_what_is_past

        with closing(self.open()) as store:
            drop_what_is_past(store, now=self.now())
            with writing_to(store) as db:
                yield db

    def proved(self, act: Act, *, about: str | None = None) -> str | None:
        """Return the code of who does an act that binds, once they have proved who they are.

        *about* is the person whom it is about. See `panel.cli.proving.prove_who`.
        """
        from panel.cli.proving import prove_who

        return prove_who(self, act, about)

    def today(self, db: Session) -> date:
        """Return today's date at the site."""
        from panel.store.house import today_at_site

        return today_at_site(db, self.now())


def write_as_the_house(store: Store) -> None:
    """Write decimals from here on as the house of a database does."""
    from panel.store.house import writes_commas

    with store.read() as db:
        hand().comma = writes_commas(db)


@contextmanager
def writing_to(store: Store) -> Iterator[Session]:
    """Give a transaction for one act on an open database: no command writes but through here."""
    with store.write() as db:
        yield db


pass_invocation = click.make_pass_decorator(Invocation)


def _for_machines(_ctx: click.Context, _param: click.Parameter, value: bool) -> bool:
    """Let a document for machines have points, its sentences among it."""
    hand().for_machines = value
    return value


json_option = click.option(
    "--json",
    "as_json",
    is_flag=True,
    callback=_for_machines,
    is_eager=True,
    help="One JSON document on stdout.",
)


def read_date(_ctx: click.Context, _param: click.Parameter, value: str | None) -> date | None:
    """Read a calendar date written as 2026-11-25."""
    if value is None:
        return None
    try:
        return date.fromisoformat(value)
    except ValueError:
        raise click.BadParameter(f"{value!r} is not a date such as 2026-11-25") from None


def read_near_date(ctx: click.Context, param: click.Parameter, value: str | None) -> date | None:
    """Read a date that casks are reckoned for, or a session is held on: none beyond any plan."""
    from panel.store.ages import day_fault

    day = read_date(ctx, param, value)
    inv = ctx.find_object(Invocation) or Invocation()
    if day is not None and (wrong := day_fault(day, inv.now().date())):
        raise click.BadParameter(wrong)
    return day


as_of_option = click.option(
    "--as-of", callback=read_near_date, metavar="DATE", help="Reckon as on this date; else today."
)

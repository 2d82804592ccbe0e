"""Days far beyond any plan: no spirit is older than 100 years (common practice, no source)."""

from __future__ import annotations

from datetime import date

import click
import pytest

from panel.cli.invocation import Invocation, as_of_option
from panel.desk.typed import Entries
from panel.intake.kinds import Kind
from panel.store.ages import day_fault, year_fault
from tests.conftest import FIXED_NOW
from tests.intake.files import House

TODAY = date(2026, 3, 14)


@pytest.mark.parametrize(
    ("day", "wrong"),
    [
        (date(2126, 3, 14), None),
        (date(2126, 3, 15), "2126-03-15 lies more than 100 years ahead"),
        (date(1900, 1, 1), None),
        (date(1899, 12, 31), "1899-12-31 lies before 1900"),
    ],
)
def test_no_day_is_reckoned_for_beyond_the_age_of_any_spirit(day: date, wrong: str | None) -> None:
    assert (day_fault(day, TODAY) or "").startswith(wrong or "")
    assert bool(day_fault(day, TODAY)) is bool(wrong)


def test_no_year_is_planned_beyond_the_age_of_any_spirit() -> None:
    assert year_fault(2126, TODAY) is None
    assert year_fault(2127, TODAY) == "2127 is after 2126: no spirit is older than 100 years"


@click.command()
@as_of_option
def asked(as_of: date | None) -> None:
    click.echo(as_of)


def test_a_command_refuses_a_day_too_far_off() -> None:
    inv = Invocation(clock=lambda: FIXED_NOW)
    with asked.make_context("asked", ["--as-of", "2030-01-01"], obj=inv) as context:
        assert context.params["as_of"] == date(2030, 1, 1)
    with pytest.raises(click.BadParameter, match="4640-01-01 lies more than 100 years ahead"):
        asked.make_context("asked", ["--as-of", "4640-01-01"], obj=inv)


def test_a_form_refuses_it_beside_its_field() -> None:
    typed = Entries({"as_of": "4640-01-01", "held_on": "2026-04-01"})
    assert typed.near_day("held_on", TODAY) == date(2026, 4, 1)
    assert typed.near_day("as_of", TODAY) is None
    assert list(typed.faults) == ["as_of"]


def test_a_plan_reaches_no_further(house: House) -> None:
    head = "plan,release,year,target,bottles,limits\n"
    far = f"{head}P,R1,2199,,,\nP,,,,,fill 4640-04-01 4 x 200 L at 63.5\n"
    told = {(each.row, each.column): each.message for each in house.load(Kind.PLANS, far).problems}
    assert "2199 is after" in told[2, "year"]
    assert "4640-04-01 lies more than 100 years ahead" in told[3, "limits"]

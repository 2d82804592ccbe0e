"""A count of wrong PINs that another tool wrote: a wait that ends, and no fault of ours."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

import pytest
from sqlalchemy import text

from panel.errors import SignInWaits
from panel.records.people import recover_pin
from panel.store.engine import Store
from panel.store.examine import examine
from panel.store.findings import Level
from panel.store.guard_rows import LONGEST_WAIT_S
from panel.store.pin_guard import prove_pin
from tests.houses.pins import PIN, give_pins
from tests.houses.small import add_house

WHO = "M1"
BROKEN = "(SELECT id FROM person WHERE code = 'M1'), {}"
ROWS = (
    "5, 'garbage', 60",
    "'many', '2026-03-14 18:00:00.000000', 60",
    "5, '2026-03-14 18:00:00.000000', 'long'",
    "0, X'00FF', 0",
)
"""Failures, when, seconds: each is what no try leaves behind."""


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    with store.write() as db:
        add_house(db, fixed_now)
    give_pins(store)
    return store


def write(store: Store, row: str) -> None:
    with store.write() as db:
        db.execute(text("PRAGMA ignore_check_constraints=ON"))
        written = f"INSERT OR REPLACE INTO sign_in_guard VALUES ({BROKEN.format(row)})"
        db.execute(text(written))


def seconds_left(store: Store, now: datetime) -> int:
    with pytest.raises(SignInWaits) as refused:
        prove_pin(store, WHO, PIN, now=now)
    return int(re.findall(r"(\d+) s to go", str(refused.value))[0])


@pytest.mark.parametrize("row", ROWS)
def test_a_damaged_count_is_a_wait_from_now_and_ends(
    house: Store, fixed_now: datetime, row: str
) -> None:
    write(house, row)
    [found] = [each for each in examine(house).findings if each.about == "waits"]
    assert found.level is Level.FAULT
    assert f"{WHO} (cannot be read)" in found.words
    assert seconds_left(house, fixed_now) == 60
    assert seconds_left(house, fixed_now + timedelta(seconds=59)) == 1
    prove_pin(house, WHO, PIN, now=fixed_now + timedelta(seconds=60))
    assert not [each for each in examine(house).findings if each.about == "waits"]


def test_no_wait_is_longer_than_the_program_sets(house: Store, fixed_now: datetime) -> None:
    moment = fixed_now.strftime("%Y-%m-%d %H:%M:%S.%f")
    write(house, f"9, '{moment}', 2000000000")
    [found] = [each for each in examine(house).findings if each.about == "waits"]
    assert f"{WHO} (waits 2,000,000,000 s)" in found.words
    assert seconds_left(house, fixed_now) == LONGEST_WAIT_S
    prove_pin(house, WHO, PIN, now=fixed_now + timedelta(seconds=LONGEST_WAIT_S))


@pytest.mark.parametrize("row", ROWS)
def test_a_pin_given_past_the_leads_puts_it_right(
    house: Store, fixed_now: datetime, row: str
) -> None:
    write(house, row)
    recover_pin(house, WHO, "8642", at=fixed_now)
    prove_pin(house, WHO, "8642", now=fixed_now)

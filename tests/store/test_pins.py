"""PINs: kept as a slow salted hash, the easily guessed ones refused."""

from __future__ import annotations

import hashlib

import pytest

from panel.store import pins
from panel.store.pins import check_pin, hash_pin, new_pin, pin_fault


@pytest.fixture(autouse=True)
def at_house_cost(monkeypatch: pytest.MonkeyPatch, house_cost: int) -> None:
    """Here PINs cost what they cost in a house."""
    monkeypatch.setattr(pins, "COST", house_cost)


def test_the_right_pin_opens_and_others_do_not() -> None:
    stored = hash_pin("2486")
    assert check_pin("2486", stored)
    assert not any(check_pin(wrong, stored) for wrong in ("2487", "24860", "248", "", " 2486"))


def test_the_same_pin_is_stored_differently_each_time_and_never_in_the_clear() -> None:
    one, two = hash_pin("135792"), hash_pin("135792")
    assert one != two
    assert "135792" not in one


def test_the_stored_text_names_its_cost_and_salt() -> None:
    # Reckoned once more with the standard library's own scrypt (RFC 7914).
    scheme, cost, block, lanes, salt, kept = hash_pin("2486").split("$")
    again = hashlib.scrypt(
        b"2486", salt=bytes.fromhex(salt), n=int(cost), r=int(block), p=int(lanes), dklen=32
    )
    assert (scheme, kept) == ("scrypt", again.hex())
    assert (int(cost), len(salt)) == (16384, 32)


@pytest.mark.parametrize(
    "stored", ["", "x", "scrypt$1$2$3", "scrypt$a$8$1$00$00", "md5$16384$8$1$00$00"]
)
def test_a_stored_text_that_is_none_opens_nothing(stored: str) -> None:
    assert not check_pin("2486", stored)


@pytest.mark.parametrize(
    "pin",
    [
        *("", "123", "1" * 13, "12a4", "12 4", "+123", "١٢٣٤"),
        *("0000", "1111", "999999", "1234", "4321", "7890", "3210", "0987", "1212", "123123"),
    ],
)
def test_weak_and_wrong_pins_are_refused_in_words(pin: str) -> None:
    assert pin_fault(pin) in {
        "A PIN is 4 to 12 digits.",
        "That PIN is easily guessed (digits repeated or in a row); take another.",
    }


@pytest.mark.parametrize("pin", ["2486", "1243", "0001", "1213", "135792468013", "112233"])
def test_other_pins_will_do(pin: str) -> None:
    assert pin_fault(pin) is None


def test_a_pin_at_random_will_do_and_differs() -> None:
    made = {new_pin() for _ in range(50)}
    assert all(pin_fault(pin) is None and len(pin) == 6 for pin in made)
    assert len(made) > 45

"""PINs: kept as a slow salted hash, the easily guessed ones refused."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import panel
from panel.store import pins
from panel.store.guard_rows import LONGEST_WAIT_S, TRIES
from panel.store.pin_guard import STALE_AFTER_S, waiting
from panel.store.pins import SCHEME, check_pin, hash_pin, new_pin, pin_fault
from panel.store.stranger_tries import Tries


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
    assert (scheme, kept) == ("scrypt-sha256", hashlib.sha256(again).hexdigest())
    assert (int(cost), len(salt)) == (16384, 32)


@pytest.mark.parametrize(
    "stored",
    [
        "",
        "x",
        f"{SCHEME}$1$2$3",
        f"{SCHEME}$a$8$1$00$00",
        "md5$16384$8$1$00$00",
        "scrypt$2$8$1$00$00",
    ],
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


WRONG_AT = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("moved_s", "left_s"),
    [
        (0, 60),
        (59, 1),
        (60, None),
        (60 + STALE_AFTER_S, None),
        (61 + STALE_AFTER_S, 60),  # a clock set forward does not end a wait
        (-1, 60),  # nor does one set back make it longer
        (-86_400 * 365, 60),
    ],
)
def test_a_wait_is_seconds_from_the_wrong_try_whatever_the_clock(
    moved_s: int, left_s: int | None
) -> None:
    tries = Tries("", failures=TRIES, failed_at=WRONG_AT, wait_s=60)
    now = WRONG_AT + timedelta(seconds=moved_s)
    waits = waiting(tries, now)
    assert (waits is None) == (left_s is None)
    if waits is not None:
        assert f"{left_s} s to go" in str(waits)
        # From here on it runs: a wait that began anew is over after its seconds.
        assert waiting(tries, now + timedelta(seconds=left_s or 0)) is None


def test_four_digits_take_over_a_year_with_the_wait() -> None:
    """10,000 PINs, one a wait once five were tried: reckoned here anew."""
    waits = [min(60 * 2**n, LONGEST_WAIT_S) for n in range(10_000 - TRIES)]
    assert sum(waits) / 86_400 > 365


def test_nothing_but_the_one_that_counts_asks_whether_a_pin_is_right() -> None:
    """Whoever reckons a PIN settles the try too."""
    root = Path(panel.__file__).parent
    asking = [path for path in root.rglob("*.py") if "check_pin(" in path.read_text("utf-8")]
    names = {str(path.relative_to(root)) for path in asking}
    assert names == {
        "store/pins.py",
        "store/pin_guard.py",
        "store/booth_seat.py",
        "session/gate.py",
    }
    others = (path for path in asking if path.name != "pins.py")
    assert all("settle_try(" in path.read_text("utf-8") for path in others)

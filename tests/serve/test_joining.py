"""The join code, the PINs behind it, and one seat a browser."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest

from panel.errors import BoothError, StoreError
from panel.kinds import SessionStatus
from panel.serve import app
from panel.serve.joining import CODE_SIGNS, SIGNS, Joining, new_code
from panel.serve.served import Served
from panel.store.engine import Store
from tests.booth.sitting import set_stage
from tests.houses.at_the_booth import PINS, START, Wall
from tests.serve.browsing import PORT, Browser, browser_of, seated, served_for


@pytest.fixture
def served(evening: Store, wall: Wall) -> Served:
    return served_for(evening, wall)


@pytest.fixture
def browser(served: Served) -> Iterator[Browser]:
    with browser_of(served) as one:
        yield one


# ---------------------------------------------------------------- the join code


def test_a_join_code_is_eight_signs_of_which_none_is_taken_for_another() -> None:
    codes = {new_code() for _ in range(50)}
    assert len(codes) == 50
    assert all(len(code) == CODE_SIGNS == 8 and set(code) <= set(SIGNS) for code in codes)
    assert not set("IO01L") & set(SIGNS) - {"L"}


def test_ten_wrong_codes_wait_a_minute_even_for_the_right_one(
    served: Served, browser: Browser, wall: Wall
) -> None:
    for _ in range(10):
        assert browser.join("AAAA-AAAA").said.startswith("! That join code does not fit")
    assert browser.join(served.joining.code).said.startswith("! Too many join codes")
    assert browser.page.status_code == 429
    with browser_of(served, peer="192.0.2.9") as elsewhere:
        assert elsewhere.join(served.joining.code).body["data-about"] == "sign in False"
    wall.pass_s(60)
    assert browser.join(served.joining.code).body["data-about"] == "sign in False"


def test_a_clock_that_was_set_back_makes_no_wait_longer(
    served: Served, browser: Browser, wall: Wall
) -> None:
    for _ in range(10):
        browser.join("AAAA-AAAA")
    wall.pass_s(-7200)
    assert browser.join(served.joining.code).said.startswith("! Too many join codes")
    wall.pass_s(60)
    assert browser.join(served.joining.code).body["data-about"] == "sign in False"


def test_a_hundred_wrong_ones_from_anywhere_wait_a_minute() -> None:
    joining = Joining()
    for each in range(100):
        assert not joining.join("WRONG", "browser", f"192.0.2.{each % 20}", START)
    with pytest.raises(BoothError, match="Wait a minute"):
        joining.join(joining.code, "browser", "198.51.100.1", START)
    assert joining.join(joining.code, "browser", "192.0.2.1", START + timedelta(minutes=1))


def test_a_new_code_sends_back_who_has_not_signed_in_and_nobody_else(served: Served) -> None:
    with seated(served) as seat, browser_of(served) as joined:
        old = served.joining.code
        joined.join(old)
        served.joining.renew()
        assert joined.look().body["data-about"] == "join"
        assert joined.join(old).said.startswith("! That join code")
        assert seat.look().body["data-about"] == "between 0"


def test_without_the_code_nobody_is_even_asked_for_a_pin(served: Served, browser: Browser) -> None:
    page = browser.look()
    form = {"form": page.body["data-form"], "code": "A1", "pin": PINS["A1"]}
    assert browser.post("/sign-in", form).body["data-about"] == "join"
    assert browser.page.status_code == 403
    assert f"oakpanel_seat_{PORT}" not in browser.client.cookies


def test_the_code_ends_with_the_session_and_another_is_told_when_it_opens_again(
    served: Served, browser: Browser, evening: Store
) -> None:
    told: list[str] = []
    served.joining.tell = told.append
    old = served.joining.code
    browser.join(old)
    set_stage(evening, SessionStatus.CLOSED)
    for _ in range(3):
        assert "was closed" in browser.look().said
    assert told == []
    set_stage(evening, SessionStatus.OPEN)
    assert browser.look().body["data-about"] == "join"
    assert told == [served.joining.code] != [old]


# ---------------------------------------------------------------- PINs and seats


def test_wrong_pins_count_by_person_and_nothing_tells_codes_apart(
    served: Served, browser: Browser
) -> None:
    browser.join(served.joining.code)
    said = {browser.sign_in(who, "1111").said for who in ("A1", "nobody")}
    assert len(said) == 1
    assert "do not go together" in said.pop()
    for _ in range(4):
        browser.sign_in("A1", "1111")
    assert "60 s to go" in browser.sign_in("A1").said
    assert browser.page.status_code == 429


def test_no_more_wait_for_a_hash_than_there_are_booths_twice_over(
    served: Served, browser: Browser, monkeypatch: pytest.MonkeyPatch
) -> None:
    browser.join(served.joining.code)
    monkeypatch.setattr(app, "HASHES_WAITING", 0)
    assert "Many sign in just now" in browser.sign_in("A1").said
    assert served.hashes.total_tokens == 2


def test_one_browser_is_one_booth(served: Served) -> None:
    with browser_of(served) as browser:
        browser.join(served.joining.code)
        other_window = browser.look().forms["/sign-in"]
        browser.sign_in("A1")
        page = browser.post("/sign-in", {**other_window, "code": "A2", "pin": PINS["A2"]})
        assert browser.page.status_code == 409
        assert page.said.startswith("! A1 sits in this browser already.")
        assert browser.look().body["data-about"] == "between 0"
        browser.leave()
        assert browser.look().body["data-about"] == "sign in False"
        assert browser.sign_in("A2").body["data-about"] == "between 0"


def test_a_booth_that_was_left_opens_to_nobody_who_kept_its_cookie(served: Served) -> None:
    with seated(served) as browser:
        cookies = dict(browser.client.cookies)
        page = browser.look()
        browser.leave()
        assert browser.look().body["data-about"] == "sign in False"
        browser.client.cookies.update(cookies)
        assert browser.look().body["data-about"] == "sign in False"
        said = browser.post("/deed", {**page.forms["call"], "number": "1" * 32, "reason": "water"})
        assert (browser.page.status_code, said.body["data-about"]) == (403, "stopped")
        assert browser.sign_in("A2").body["data-about"] == "between 0", "the seat is free"


def test_a_booth_is_not_left_where_that_cannot_be_kept(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    def out_of_reach(*_: object) -> None:
        raise StoreError("no disk")

    with seated(served) as browser:
        with monkeypatch.context() as patch:
            patch.setattr("panel.seat.arriving.leave", out_of_reach)
            browser.leave()
            assert browser.page.status_code == 503
        assert browser.look().body["data-about"] == "between 0"


def test_one_seat_in_two_browsers_is_the_newer_ones(served: Served, evening: Store) -> None:
    with seated(served) as first, seated(served) as second:
        page = first.look()
        assert page.said == (
            "! A1 signed in at another booth (a browser) at 18:00. This one no longer saves."
        )
        assert first.page.status_code == 403
        second.deed("take", code="538", sure="538")
        assert first.post("/leave", page.forms["/leave"]).body["data-about"] == "sign in False"
        first.sign_in("A1")
        assert first.look().body["data-about"] == "glass 538.1"
        assert second.look().said.startswith("! A1 signed in at another booth")


def test_a_seat_survives_another_server_and_its_form_too(
    served: Served, evening: Store, wall: Wall
) -> None:
    with seated(served) as browser:
        form = {**browser.look().forms["take"], "code": "538", "sure": "538"}
        cookies = dict(browser.client.cookies)
    with browser_of(served_for(evening, wall)) as again:
        again.client.cookies.update(cookies)
        assert again.post("/deed", form).body["data-about"] == "glass 538.1"
        assert again.page.status_code == 200

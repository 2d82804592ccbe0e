"""The door: what a stranger, a foreign page, a guess or a replay gets."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from panel.errors import BoothError, DoorRefused
from panel.seat.arriving import session_of_booths
from panel.serve.door import Door, EncryptedBy, make_door
from panel.serve.guard import HEADERS, MOST_BYTES, POLICY
from panel.serve.served import Served
from panel.store.engine import Store
from tests.houses.at_the_booth import NAME, PINS, Wall, kept_scores
from tests.serve.browsing import PORT, Browser, browser_of, seated, served_for

HOME = f"http://127.0.0.1:{PORT}"


@pytest.fixture
def served(evening: Store, wall: Wall) -> Served:
    return served_for(evening, wall)


@pytest.fixture
def browser(served: Served) -> Iterator[Browser]:
    with browser_of(served) as one:
        yield one


# ---------------------------------------------------------------- where it listens


@pytest.mark.parametrize(
    ("named", "ways", "words"),
    [
        ("192.0.2.7", {}, "On 192.0.2.7 others can listen"),
        ("0.0.0.0", {"nothing": True}, "every address of this machine"),
        ("::", {"nothing": True}, "every address of this machine"),
        ("no.such.host.invalid", {}, "no address of a machine"),
        ("127.0.0.1", {"certificate": Path("a.pem")}, "goes with its key"),
        ("127.0.0.1", {"behind": "https://booths.lan", "nothing": True}, "Name one of"),
        ("127.0.0.1", {"behind": "booths.lan"}, "is not the address of a proxy"),
        ("127.0.0.1", {"behind": "https://booths.lan/path"}, "is not the address of a proxy"),
        ("127.0.0.1", {"behind": "http://192.0.2.7"}, "has to encrypt"),
    ],
)
def test_no_door_opens_wider_than_was_said(named: str, ways: dict[str, object], words: str) -> None:
    with pytest.raises(DoorRefused, match=words):
        make_door(named, PORT, EncryptedBy(**ways))  # type: ignore[arg-type]


def test_an_address_with_its_way_is_the_only_origin() -> None:
    door = make_door("192.0.2.7", 80, EncryptedBy(nothing=True))
    assert list(door.origins) == ["http://192.0.2.7"]
    assert list(door.hosts) == ["192.0.2.7"]
    assert not door.secure
    home = make_door("127.0.0.1", PORT)
    assert home.origins == {HOME, f"http://localhost:{PORT}"}
    tls = make_door("192.0.2.7", 443, EncryptedBy(Path("a"), Path("b")))
    assert list(tls.origins) == ["https://192.0.2.7"]
    assert tls.secure


# ---------------------------------------------------------------- whose request


@pytest.mark.parametrize("host", ["evil.test", f"evil.test:{PORT}", "127.0.0.1:1", "127.0.0.1"])
def test_a_foreign_host_gets_nothing(served: Served, host: str) -> None:
    with browser_of(served, host=host) as stranger:
        assert stranger.client.get("/").status_code == 421
        assert NAME not in stranger.client.get("/").text


@pytest.mark.parametrize("origin", ["http://evil.test", "null", f"https://127.0.0.1:{PORT}", ""])
def test_a_strangers_page_cannot_send_a_deed(served: Served, evening: Store, origin: str) -> None:
    with seated(served) as browser:
        form = browser.look().forms["take"]
        headers = {"origin": origin} if origin else {}
        sent = browser.client.post("/deed", data={**form, "code": "538"}, headers=headers)
        assert sent.status_code == 403
        assert browser.client.get("/", headers={"origin": "http://evil.test"}).status_code == 403
        cross = {"origin": HOME, "sec-fetch-site": "cross-site"}
        assert browser.client.post("/deed", data=form, headers=cross).status_code == 403
        assert browser.look().body["data-about"] == "between 0"


def test_a_form_without_its_seats_token_does_nothing(served: Served) -> None:
    with seated(served) as browser, seated(served, "A2") as other:
        form = {**browser.look().forms["take"], "code": "538", "sure": "538"}
        for stolen in ("", "0" * 64, other.look().body["data-form"]):
            assert browser.post("/deed", {**form, "form": stolen}).body["data-about"] == "stopped"
            assert browser.page.status_code == 403
        assert browser.post("/leave", {"form": ""}).body["data-about"] == "stopped"
        assert browser.look().body["data-about"] == "between 0"


def test_a_replayed_form_is_answered_and_not_done_again(
    served: Served, evening: Store, wall: Wall
) -> None:
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        form = {**browser.look().forms["scores"], "line-1": "40"}
        browser.post("/deed", form)
        browser.deed("scores", line_1="55")
        wall.pass_s(5)
        browser.post("/deed", form)
        assert browser.page.status_code == 200
        assert kept_scores(evening, "A1", "538") == {"orchard fruit": 55}
        assert 'value="55"' in browser.page.text


def test_replayed_without_the_cookies_it_is_nobodys(served: Served) -> None:
    with seated(served) as browser, browser_of(served) as stranger:
        form = {**browser.look().forms["take"], "code": "538", "sure": "538"}
        stranger.post("/deed", form)
        assert stranger.page.status_code == 403
        stranger.client.cookies.set(f"oakpanel_seat_{PORT}", "0" * 32)
        stranger.post("/deed", form)
        assert stranger.page.status_code == 403
        assert browser.look().body["data-about"] == "between 0"


def test_long_odd_and_broken_forms_are_refused_in_words(served: Served, evening: Store) -> None:
    with seated(served) as browser:
        long = {"origin": HOME}
        assert browser.client.post("/deed", content=b"x" * MOST_BYTES, headers=long).is_error
        sent = browser.client.post("/deed", content=b"x" * (MOST_BYTES + 1), headers=long)
        assert sent.status_code == 413
        browser.deed("take", code="538", sure="538")
        bodies = [b"\xff\xfe=1", b"a&" * 900, b"", b"form=1&form=2"]
        for body in bodies:
            page = browser.client.post("/deed", content=body, headers=long)
            assert 400 <= page.status_code < 500
        form = browser.look().forms["scores"]
        odd: dict[str, str] = {}
        for odd in (
            {"line-1": "1e3"},
            {"line-1": "101"},
            {"line-x": "1"},
            {"line-99": "1"},
            {"glass": "538"},
            {"glass": "999.1"},
            {"number": "1"},
            {"deed": "erase"},
        ):
            browser.post("/deed", {**form, "line-2": "7", **odd})
            assert browser.page.status_code in {409, 410}, odd
            assert "Traceback" not in browser.page.text
        assert browser.client.put("/", headers=long).status_code == 405
        assert browser.client.get("/nothing").status_code == 404
    assert kept_scores(evening, "A1", "538") == {}


def test_every_answer_carries_the_same_headers(served: Served) -> None:
    with seated(served) as browser:
        paths = ["/", "/words", "/booth.css", "/booth.js", "/favicon.ico", "/none"]
        answers = [browser.client.get(path) for path in paths]
        answers.append(browser.client.get("/", headers={"host": "evil.test"}))
        answers.append(browser.client.post("/deed", data={}))
    for answer in answers:
        assert {name: answer.headers[name] for name in HEADERS} == HEADERS
        assert "server" not in answer.headers
    assert "default-src 'none'" in POLICY
    assert "unsafe" not in POLICY
    assert "frame-ancestors 'none'" in POLICY


@pytest.mark.parametrize("secure", [False, True])
def test_cookies_are_out_of_reach_and_go_nowhere_else(
    evening: Store, wall: Wall, secure: bool
) -> None:
    door = (
        make_door("127.0.0.1", PORT, EncryptedBy(behind="https://booths.lan")) if secure else None
    )
    served = served_for(evening, wall, door)
    told = []
    with browser_of(served, host="booths.lan" if secure else f"127.0.0.1:{PORT}") as browser:
        scheme = {"origin": "https://booths.lan"} if secure else {}
        browser.client.base_url = "https://booths.lan" if secure else HOME
        told += browser.client.get("/").headers.get_list("set-cookie")
        form = browser.look().forms["/join"]
        browser.post("/join", {**form, "code": served.joining.code}, **scheme)
        form = {**browser.look().forms["/sign-in"], "code": "A1", "pin": PINS["A1"]}
        browser.post("/sign-in", form, **scheme)
        told += browser.page.history[0].headers.get_list("set-cookie")
    assert len(told) == 2
    for cookie in told:
        parts = cookie.lower().split("; ")
        assert {"httponly", "samesite=strict", "path=/"} <= set(parts)
        assert ("secure" in parts) is secure
        assert "max-age" not in cookie.lower()


# ---------------------------------------------------------------- a proxy, the clear, a server


@pytest.fixture
def behind() -> Door:
    return make_door("127.0.0.1", PORT, EncryptedBy(behind="https://booths.lan"))


def test_behind_a_proxy_only_the_proxy_is_heard_and_its_callers_count_apart(
    evening: Store, wall: Wall, behind: Door
) -> None:
    served = served_for(evening, wall, behind)
    with browser_of(served, host="booths.lan", peer="192.0.2.9") as past_it:
        assert past_it.client.get("/").status_code == 403
    with browser_of(served, host=f"127.0.0.1:{PORT}") as direct:
        assert direct.client.get("/").status_code == 421
    with browser_of(served, host="booths.lan") as one:
        one.client.base_url = "https://booths.lan"
        origin = {"origin": "https://booths.lan"}
        for _ in range(10):
            form = {**one.look().forms["/join"], "code": "WRONG"}
            one.post("/join", form, **origin, **{"x-forwarded-for": "203.0.113.9, 10.0.0.1"})
        right = {**one.look().forms["/join"], "code": served.joining.code}
        one.post("/join", right, **origin, **{"x-forwarded-for": "10.0.0.1"})
        assert one.page.status_code == 429
        one.post("/join", right, **origin, **{"x-forwarded-for": "10.0.0.1, 10.0.0.2"})
        assert one.page.status_code == 200


def test_without_a_proxy_forwarded_headers_are_nobodys_word(
    served: Served, browser: Browser
) -> None:
    for each in range(10):
        form = {**browser.look().forms["/join"], "code": "WRONG"}
        browser.post("/join", form, **{"x-forwarded-for": f"10.0.0.{each}"})
    assert browser.join(served.joining.code).said.startswith("! Too many join codes")


def test_in_the_clear_both_pages_say_so(evening: Store, wall: Wall) -> None:
    door = make_door("127.0.0.1", PORT, EncryptedBy(nothing=True))
    served = served_for(evening, wall, door)
    with browser_of(served) as browser:
        assert "can be read on this network" in " ".join(browser.look().words)
        assert "can be read on this network" in " ".join(browser.join(served.joining.code).words)
    with browser_of(served_for(evening, wall)) as encrypted:
        assert "can be read" not in " ".join(encrypted.look().words)


def test_on_a_server_only_the_booths_own_user_serves(postgres_store: Store) -> None:
    with pytest.raises(BoothError, match="booths' own user only"):
        session_of_booths(postgres_store, NAME)


def test_a_script_in_a_note_or_a_word_is_text(served: Served) -> None:
    nasty = "</textarea><script>alert(1)</script>"
    with seated(served) as browser:
        browser.deed("take", code="538", sure="538")
        browser.deed("note", text=nasty)
        text = browser.client.get("/").text
        assert text.count("<script") == 1
        assert "&lt;/textarea&gt;&lt;script&gt;" in text
        form = {"form": browser.look().body["data-form"], "number": "1" * 32, "deed": "take"}
        page = browser.post("/deed", {**form, "code": nasty})
        assert page.said.startswith("! A code has three digits")
        assert "<script>alert" not in browser.page.text

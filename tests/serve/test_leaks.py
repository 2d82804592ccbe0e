"""Every page, header, file, address and line of a session with marked casks: none bears a mark.

Two glasses of one tray give the same page but for the code on them.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from httpx2 import Response
from sqlalchemy import select

from panel.errors import DatabaseLocked
from panel.seat.arriving import session_of_booths
from panel.seat.values import Tray
from panel.serve import doing
from panel.serve.door import make_door
from panel.serve.running import opening
from panel.serve.served import Served
from panel.store.draws import Draw
from panel.store.engine import Store
from tests.houses.at_the_booth import Wall
from tests.houses.marked import MARK, PIN, mark_all, secrets_of
from tests.houses.to_plan import CODES, WORDS
from tests.serve.browsing import PORT, Browser, browser_of

MARKED = {
    "kelpie": re.compile(MARK, re.IGNORECASE),
    "a kind of glass": re.compile(r"\b(reference|duplicate|replicate|trial|market)\b"),
    "a draw": re.compile(r"\b[DRW][0-9]\b"),
}

GLASSES = 9
"""Six draws, one of them twice, a reference, a warm-up."""


@pytest.fixture
def marked(store: Store, wall: Wall) -> Store:
    return mark_all(store, wall)


def whole(answer: Response) -> str:
    """Return all that an answer says, and what was asked for."""
    headers = "\n".join(f"{name}: {value}" for name, value in answer.headers.items())
    return f"{answer.request.url} {answer.status_code}\n{headers}\n{answer.text}"


def walk(browser: Browser, served: Served, wall: Wall) -> dict[str, str]:
    """Go through the whole tray by every form; return the first page of each glass."""
    glasses: dict[str, str] = {}
    browser.look()
    browser.join("WRONG")
    browser.join(served.joining.code)
    browser.sign_in(CODES[0], "1111")
    browser.sign_in(CODES[0], PIN)
    while "take" in browser.look().forms:
        words = " ".join(browser.look().words)
        found = re.search(r"Next on your tray: (\d{3})", words)
        if found is None:
            break
        code = found[1]
        browser.deed("take", code="999")
        browser.deed("take", code=code, sure=code)
        glasses[code] = browser.client.get("/").text
        browser.deed("scores", line_1="40", line_2="x")
        browser.deed("scores", line_1="40")
        browser.deed("rest")
        browser.deed("fault", fault="soapy:on")
        browser.deed("note", text="a quay")
        browser.deed("call", reason="doubtful glass")
        browser.deed("mark", choice="call")
        if len(glasses) == GLASSES:
            browser.deed("call", reason="not safe")
            browser.deed("take", code=code)
        browser.deed("down")
        wall.pass_s(60)
    return glasses


def odd_ends(browser: Browser, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ask for what is not there, and break what can break."""
    client = browser.client
    for path in ("/words", "/booth.css", "/booth.js", "/favicon.ico", "/none", "/deed", "/sheets"):
        client.get(path)
    client.get("/", headers={"host": "evil.test"})
    client.post("/deed", content=b"x" * 20_000, headers={"origin": f"http://127.0.0.1:{PORT}"})
    with store.read() as db:
        held = next(iter(db.scalars(select(Draw)))).label

    def broken(*_: object) -> Tray:
        raise RuntimeError(held)

    def locked(*_: object) -> Tray:
        raise DatabaseLocked("The database is held by another program.")

    for fault in (broken, locked):
        monkeypatch.setattr(doing, "perform", fault)
        client.get("/")
    monkeypatch.undo()


def test_nothing_that_leaves_the_server_bears_a_mark(
    marked: Store,
    wall: Wall,
    own_log: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    own_log.unlink(missing_ok=True)
    served = Served(marked, session_of_booths(marked, "spring"), make_door("127.0.0.1", PORT), wall)
    told: list[str] = list(opening(served, keys=True))
    served.joining.tell = told.append
    with browser_of(served) as browser:

        def heard(answer: Response) -> None:
            answer.read()
            told.append(whole(answer))

        browser.client.event_hooks = {"response": [heard]}
        glasses = walk(browser, served, wall)
        odd_ends(browser, marked, monkeypatch)
        browser.leave()
    told += [own_log.read_text(encoding="utf-8"), *capfd.readouterr()]
    assert len(glasses) == GLASSES
    assert any("is stopped: what is in it may not be safe" in text for text in told)
    assert len(told) > 150
    assert "RuntimeError" in told[-3]
    for name, pattern in MARKED.items():
        found = [found[0] for text in told for found in pattern.finditer(text)]
        assert found == [], name
    for secret in secrets_of(marked):
        assert not any(secret in text for text in told)
    assert not any(PIN in text for text in told)
    assert same_but_for_codes(glasses) == 2  # the warm-up is declared, and all others are alike


def same_but_for_codes(glasses: dict[str, str]) -> int:
    """Count the pages that differ once codes, places and random numbers are taken out."""
    plain = set()
    for code, page in glasses.items():
        text = re.sub(r"\b[0-9a-f]{16,}\b", "NUMBER", page)
        text = text.replace(code, "CODE")
        text = re.sub(r"Glass \d+ of \d+", "Glass N of N", text)
        plain.add(re.sub(r"lead called \d\d:\d\d", "lead called", text))
    return len(plain)


def test_every_word_of_the_lexicon_is_there(marked: Store, wall: Wall) -> None:
    served = Served(marked, "spring", make_door("127.0.0.1", PORT), wall)
    with browser_of(served) as browser:
        browser.join(served.joining.code)
        browser.sign_in(CODES[0], PIN)
        page = browser.look()
        found = re.search(r"Next on your tray: (\d{3})", " ".join(page.words))
        assert found is not None
        browser.deed("take", code=found[1], sure=found[1])
        words = " ".join(browser.look().words)
    assert all(word in words for word in WORDS)

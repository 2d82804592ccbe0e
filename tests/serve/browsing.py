"""A browser without a screen: it holds cookies, reads forms off a page, and sends them."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser

from httpx2 import Response
from starlette.testclient import TestClient

from panel.clock import Clock
from panel.seat.arriving import session_of_booths
from panel.serve.app import make_app
from panel.serve.door import Door, make_door
from panel.serve.served import Served
from panel.store.engine import Store
from tests.houses.at_the_booth import NAME, PINS

PORT = 8460


@dataclass
class Read(HTMLParser):
    """A page as it was read: its forms by what they ask, its words, its data."""

    forms: dict[str, dict[str, str]] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)
    body: dict[str, str] = field(default_factory=dict)
    said: str = ""
    words: list[str] = field(default_factory=list)
    _form: dict[str, str] = field(default_factory=dict)
    _at: str = ""

    def __post_init__(self) -> None:
        super().__init__()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = {name: value or "" for name, value in attrs}
        if tag == "body":
            self.body = told
        elif tag == "form":
            self._form = {}
            self.forms[told["action"]] = self._form
        elif tag == "input" and "name" in told:
            self._form[told["name"]] = told.get("value", "")
            if told["name"] == "deed":
                self.forms[told["value"]] = self._form
        elif tag == "button" and "name" in told:
            self.buttons.append((told["name"], told["value"]))
        self._at = told.get("id", "") or self._at

    def handle_data(self, data: str) -> None:
        self.words.append(data)
        if self._at == "said":
            self.said += data.strip()

    def handle_endtag(self, tag: str) -> None:
        self._at = ""


def read(page: Response) -> Read:
    found = Read()
    found.feed(page.text)
    return found


@dataclass
class Browser:
    """One browser at the door of a server."""

    client: TestClient
    page: Response = field(init=False)

    def look(self, path: str = "/") -> Read:
        self.page = self.client.get(path)
        return read(self.page)

    def post(self, path: str, fields: dict[str, str], **headers: str) -> Read:
        sent = {"origin": f"http://127.0.0.1:{PORT}", **headers}
        self.page = self.client.post(path, data=fields, headers=sent)
        return read(self.page)

    def join(self, code: str) -> Read:
        return self.post("/join", {**self.look().forms["/join"], "code": code})

    def sign_in(self, who: str, pin: str = "") -> Read:
        form = self.look().forms["/sign-in"]
        return self.post("/sign-in", {**form, "code": who, "pin": pin or PINS[who]})

    def deed(self, kind: str, *, number: str = "", at: str = "/", **fields: str) -> Read:
        """Send the form of a deed with what a hand puts into it."""
        form = self.look(at).forms[kind]
        fresh = {"number": number or secrets.token_hex(16)}
        return self.post(
            "/deed", {**form, **fresh, **{n.replace("_", "-"): v for n, v in fields.items()}}
        )

    def leave(self) -> Read:
        return self.post("/leave", {"form": self.look().body["data-form"]})


def served_for(store: Store, clock: Clock, door: Door | None = None) -> Served:
    door = door or make_door("127.0.0.1", PORT)
    return Served(store, session_of_booths(store, NAME), door, clock)


@contextmanager
def browser_of(
    served: Served, *, host: str = f"127.0.0.1:{PORT}", peer: str = "127.0.0.1"
) -> Iterator[Browser]:
    client = TestClient(
        make_app(served), base_url=f"http://{host}", client=(peer, 50000), follow_redirects=True
    )
    with client:
        yield Browser(client)


@contextmanager
def seated(served: Served, who: str = "A1") -> Iterator[Browser]:
    with browser_of(served) as browser:
        browser.join(served.joining.code)
        browser.sign_in(who)
        yield browser

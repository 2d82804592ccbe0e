"""Who asks: a browser that joined with the code, and the seat that it comes back to.

What a browser holds is two random numbers. That of its seat is the seat's own token, so that it
still holds after the server was started anew; that of the browser itself opens the sign-in only.
What stands in a page is reckoned from them and leads back to neither.
"""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.serve.guard import CALLER

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from panel.seat.values import Seat
    from panel.serve.door import Door

TOKEN = re.compile(r"[0-9a-f]{32}")
SEAT, BROWSER = "oakpanel_seat", "oakpanel_browser"
MARK_DIGITS = 16


@dataclass(frozen=True)
class Caller:
    """What a request shows: its browser, the token of its seat, the address it comes from."""

    browser: str
    token: str
    address: str

    @property
    def held(self) -> str:
        """Return the number that forms have to fit: the seat's, else the browser's."""
        return self.token or self.browser

    @property
    def form_token(self) -> str:
        """Return what every form of this caller's pages carries."""
        return reckoned("form", self.held) if self.held else ""

    @property
    def outside(self) -> Caller:
        """Return the same browser without its seat."""
        return Caller(self.browser, "", self.address)

    def shows(self, form_token: str) -> bool:
        """Say whether a form was made for this caller."""
        return bool(self.held) and hmac.compare_digest(
            form_token.encode(), self.form_token.encode()
        )


def caller_of(request: Request, door: Door) -> Caller:
    """Read who asks; a number that none of ours made is none."""
    found = [request.cookies.get(name_at(name, door), "") for name in (BROWSER, SEAT)]
    browser, token = (one if TOKEN.fullmatch(one) else "" for one in found)
    return Caller(browser, token, str(request.scope.get(CALLER, "")))


def reckoned(use: str, number: str) -> str:
    """Return what stands in a page for a number that stays in the browser."""
    return hmac.new(number.encode(), f"oakpanel {use}".encode(), hashlib.sha256).hexdigest()


def seat_mark(session: str, seat: Seat) -> str:
    """Return under what a page keeps unsent deeds of one person in one session."""
    told = f"{session} {seat.session_id} {seat.person_id}"
    return hashlib.sha256(told.encode()).hexdigest()[:MARK_DIGITS]


def booth_mark(seat: Seat) -> str:
    """Return under what a page keeps those of one sign-in."""
    return reckoned("booth", seat.token)[:MARK_DIGITS]


def new_browser() -> str:
    """Return a number for a browser that has none."""
    return secrets.token_hex(16)


def name_at(name: str, door: Door) -> str:
    """Return the name of a cookie: browsers share them between the ports of an address."""
    return f"{name}_{door.port}"


def give(response: Response, door: Door, name: str, number: str) -> None:
    """Have the browser hold a number, out of reach of any page."""
    response.set_cookie(
        name_at(name, door), number, httponly=True, samesite="strict", secure=door.secure, path="/"
    )


def take_back(response: Response, door: Door, name: str) -> None:
    """Have the browser forget a number."""
    response.delete_cookie(
        name_at(name, door), httponly=True, samesite="strict", secure=door.secure, path="/"
    )

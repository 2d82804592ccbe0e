"""Every request is looked at here first: for whom it is, whence it comes, how long it is.

What goes out gets the same headers whatever it is: nothing is kept by the browser, nothing is
shown inside another page, nothing is fetched but from here.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterable
from typing import TYPE_CHECKING

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

    from panel.serve.door import Door

MOST_BYTES = 16 * 1024
BODY_WITHIN_S = 10.0
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "cache-control": "no-store",
    "x-frame-options": "DENY",
    "x-content-type-options": "nosniff",
    # Without a referrer a browser would send no origin with a form of our own.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
CALLER = "oakpanel.caller"
"""Where the address of who asks stands in a request, as far as it can be believed."""


class Guard:
    """Refuses what is not meant for this server before anything is read of it."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self.app = app
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request pass, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            return

        async def headed(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(HEADERS)
            await send(message)

        refusal = self.refusal(scope)
        body = b"" if refusal else await _whole(receive)
        if body is None:
            refusal = PlainTextResponse("That is longer than anything asked here.", 413)
        if refusal is not None:
            await refusal(scope, receive, headed)
            return
        scope[CALLER] = self.caller(scope)
        await self.app(scope, _again(body or b"", receive), headed)

    def refusal(self, scope: Scope) -> PlainTextResponse | None:
        """Return why a request is none of ours, None where it is."""
        headers = Headers(scope=scope)
        if self.door.behind and not self.door.is_proxy(_peer(scope)):
            return PlainTextResponse("This server is reached through its proxy only.", 403)
        if _only(headers.getlist("host")) not in self.door.hosts:
            return PlainTextResponse("This is not the address of this server.", 421)
        if scope["method"] not in {"GET", "HEAD", "POST"}:
            return PlainTextResponse("That is not done here.", 405)
        origin = _only(headers.getlist("origin"))
        sent = scope["method"] == "POST"
        foreign = origin not in self.door.origins if origin or sent else False
        if foreign or (headers.get("sec-fetch-site") == "cross-site" and sent):
            return PlainTextResponse("That page is none of this server's.", 403)
        return None

    def caller(self, scope: Scope) -> str:
        """Return whose tries are counted together: the peer, or whom our own proxy names."""
        peer = _peer(scope)
        if not self.door.is_proxy(peer):
            return peer
        named = ",".join(Headers(scope=scope).getlist("x-forwarded-for"))
        return named.rsplit(",", 1)[-1].strip() or peer


def _peer(scope: Scope) -> str:
    client = scope.get("client")
    return str(client[0]) if client else ""


def _only(values: Iterable[str]) -> str:
    found = list(values)
    return found[0].lower() if len(found) == 1 else ""


async def _whole(receive: Receive) -> bytes | None:
    """Return what was sent; None where it is too long, or does not end."""
    body = b""
    try:
        async with asyncio.timeout(BODY_WITHIN_S):
            while True:
                message = await receive()
                body += bytes(message.get("body", b""))
                if len(body) > MOST_BYTES:
                    return None
                if not message.get("more_body", False):
                    return body
    except TimeoutError:
        return None


def _again(body: bytes, receive: Receive) -> Receive:
    told = False

    async def once() -> Message:
        nonlocal told
        if told:
            return await receive()
        told = True
        return {"type": "http.request", "body": body, "more_body": False}

    return once

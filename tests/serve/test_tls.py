"""Encrypted lines with a certificate of our own: at the server itself, and at a proxy before it."""

from __future__ import annotations

import asyncio
import shutil
import socket
import ssl
import subprocess
import threading
from collections.abc import Callable, Coroutine, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Client, ConnectError, Response, TransportError

from panel.serve.door import EncryptedBy, make_door
from panel.serve.lines import MOST_OF_ONE
from panel.serve.running import opening
from panel.store.engine import Store
from tests.houses.at_the_booth import PINS, Wall, kept_scores
from tests.serve.browsing import read, served_for
from tests.serve.touching import Running


@dataclass(frozen=True)
class Paper:
    """A certificate with its key, and what trusts it."""

    certificate: Path
    key: Path

    @property
    def trusted(self) -> ssl.SSLContext:
        return ssl.create_default_context(cafile=self.certificate)


@pytest.fixture(scope="module")
def paper(tmp_path_factory: pytest.TempPathFactory) -> Paper:
    """Make a certificate for this machine that signs itself."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("no openssl is installed here to make a certificate with")
    folder = tmp_path_factory.mktemp("paper")
    made = Paper(folder / "booths.pem", folder / "booths-key.pem")
    words = [openssl, "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256"]
    words += ["-nodes", "-days", "2", "-subj", "/CN=booths of a test"]
    words += ["-addext", "subjectAltName=IP:127.0.0.1,DNS:localhost"]
    words += ["-keyout", str(made.key), "-out", str(made.certificate)]
    subprocess.run(words, check=True, capture_output=True)
    return made


@dataclass
class Caller:
    """A browser that goes through the whole door."""

    client: Client
    origin: str
    cookies: list[str]

    def post(self, path: str, **fields: str) -> Response:
        page = self.client.post(path, data=fields, headers={"origin": self.origin})
        told = [page, *page.history]
        self.cookies += [each for one in told for each in one.headers.get_list("set-cookie")]
        return page

    def score(self, code: str) -> None:
        """Join, sign in, take a glass and set a line."""
        first = self.client.get("/")
        self.cookies += first.headers.get_list("set-cookie")
        form = read(self.post("/join", **{**read(first).forms["/join"], "code": code}))
        asked = {**form.forms["/sign-in"], "code": "A1", "pin": PINS["A1"]}
        form = read(self.post("/sign-in", **asked))
        form = read(self.post("/deed", **{**form.forms["take"], "code": "538", "sure": "538"}))
        assert self.post("/deed", **{**form.forms["scores"], "line-1": "40"}).status_code == 200


@contextmanager
def caller(origin: str, trusted: ssl.SSLContext) -> Iterator[Caller]:
    with Client(base_url=origin, verify=trusted, follow_redirects=True) as client:
        yield Caller(client, origin, [])


def all_secure(cookies: list[str]) -> bool:
    told = [set(each.lower().split("; ")) for each in cookies]
    return len(told) == 2 and all({"secure", "httponly", "samesite=strict"} <= one for one in told)


def test_at_the_server_itself_the_line_is_encrypted_and_cookies_stay_on_it(
    evening: Store, wall: Wall, paper: Paper
) -> None:
    door = make_door("127.0.0.1", 0, EncryptedBy(paper.certificate, paper.key))
    running = Running(served_for(evening, wall, door))
    running.start()
    origin = running.served.door.origin
    try:
        assert origin.startswith("https://127.0.0.1:")
        assert origin in next(opening(running.served, keys=False))
        with caller(origin, paper.trusted) as known:
            known.score(running.served.joining.code)
        with Client(base_url=origin) as stranger, pytest.raises(ConnectError, match="CERTIFICATE"):
            stranger.get("/")
        with Client(base_url=origin.replace("https", "http")) as plain, suppress(TransportError):
            assert plain.get("/").is_error
    finally:
        running.stop()
    assert all_secure(known.cookies)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}


def test_lines_whose_handshake_never_comes_are_counted_and_others_refused(
    evening: Store, wall: Wall, paper: Paper
) -> None:
    """Those that were let in are held until they go; a browser is let in again after that."""
    door = make_door("127.0.0.1", 0, EncryptedBy(paper.certificate, paper.key))
    running = Running(served_for(evening, wall, door))
    crowd = running.served.crowd
    told, gone = threading.Event(), threading.Event()
    crowd.tell = lambda _address: told.set()
    leave = crowd.leave

    def left(address: str) -> None:
        leave(address)
        if not crowd.knocking:
            gone.set()

    crowd.leave = left  # type: ignore[method-assign]
    running.start()
    where = ("127.0.0.1", int(running.served.door.origin.rsplit(":", 1)[1]))
    try:
        silent = [socket.create_connection(where) for _ in range(MOST_OF_ONE)]
        with socket.create_connection(where) as refused:
            assert refused.recv(1) == b""
        assert told.wait(30)
        assert crowd.refused == {"127.0.0.1"}
        for each in silent:
            each.close()
        assert gone.wait(30)
        with caller(running.served.door.origin, paper.trusted) as known:
            assert known.client.get("/").status_code == 200
    finally:
        running.stop()
    assert (crowd.held, crowd.knocking) == ({}, set())


Meet = Callable[[asyncio.StreamReader, asyncio.StreamWriter], Coroutine[Any, Any, None]]


def passing_on(port: int) -> Meet:
    """Return what passes bytes on to a port of this machine, Host and all."""

    async def pour(come: asyncio.StreamReader, go: asyncio.StreamWriter) -> None:
        with suppress(ConnectionError, ssl.SSLError):
            while part := await come.read(65536):
                go.write(part)
                await go.drain()
        go.close()

    async def meet(come: asyncio.StreamReader, go: asyncio.StreamWriter) -> None:
        there, back = await asyncio.open_connection("127.0.0.1", port)
        await asyncio.gather(pour(come, back), pour(there, go))

    return meet


@contextmanager
def proxy(paper: Paper, meet: list[Meet]) -> Iterator[int]:
    """Encrypt at a port of this machine, and give the port."""
    keeps = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
    keeps.load_cert_chain(paper.certificate, paper.key)
    begun, ports = threading.Event(), []
    loop = asyncio.new_event_loop()
    over = asyncio.Event()

    async def serve() -> None:
        async def one(come: asyncio.StreamReader, go: asyncio.StreamWriter) -> None:
            await meet[0](come, go)

        async with await asyncio.start_server(one, "127.0.0.1", 0, ssl=keeps) as server:
            ports.append(server.sockets[0].getsockname()[1])
            begun.set()
            await over.wait()

    thread = threading.Thread(target=loop.run_until_complete, args=(serve(),))
    thread.start()
    begun.wait()
    yield ports[0]
    loop.call_soon_threadsafe(over.set)
    thread.join()
    loop.close()


def test_behind_a_proxy_that_encrypts_its_origin_is_the_only_one(
    evening: Store, wall: Wall, paper: Paper
) -> None:
    meet: list[Meet] = []
    with proxy(paper, meet) as port:
        origin = f"https://127.0.0.1:{port}"
        door = make_door("127.0.0.1", 0, EncryptedBy(behind=origin))
        running = Running(served_for(evening, wall, door))
        running.start()
        meet.append(passing_on(running.served.door.port))
        try:
            assert f": {origin}" in next(opening(running.served, keys=False))
            with caller(origin, paper.trusted) as known:
                known.score(running.served.joining.code)
            with Client(base_url=f"http://127.0.0.1:{running.served.door.port}") as past_it:
                assert past_it.get("/").status_code == 421
        finally:
            running.stop()
    assert all_secure(known.cookies)
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 40}

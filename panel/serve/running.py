"""The server as it runs, and the terminal it was started from: it tells the join code, two keys.

The desk starts it as a process of its own, so that neither the key nor a long reckoning is in it:
then it tells lines of JSON and is told lines, and ends where the desk does.
"""

from __future__ import annotations

import asyncio
import ctypes
import json
import logging
import signal
import socket
import ssl
import sys
import threading
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING, Any

import uvicorn

from panel.errors import DoorRefused
from panel.seat.said import NOSING_ROOM
from panel.serve.app import make_app
from panel.serve.joining import shown_code
from panel.serve.knocking import counted
from panel.serve.lines import MOST_LINES, Crowd, crowd_words, line_of

if TYPE_CHECKING:
    from panel.serve.door import Door
    from panel.serve.served import Served

Tell = Callable[[str], None]
KEEP_ALIVE_S, STOP_WITHIN_S = 30, 5
HEAD_BYTES = 16 * 1024
SETTINGS: Mapping[str, Any] = {
    **{"ws": "none", "lifespan": "off", "loop": "asyncio"},
    **{"log_config": None, "log_level": logging.CRITICAL, "access_log": False},
    **{"proxy_headers": False, "server_header": False, "limit_concurrency": MOST_LINES},
    **{"timeout_keep_alive": KEEP_ALIVE_S, "timeout_graceful_shutdown": STOP_WITHIN_S},
    "h11_max_incomplete_event_size": HEAD_BYTES,
}
"""No line about any request, nothing believed that a caller says of itself."""
ARENAS = -8
"""How the C library is asked for fewer pools of memory: each hash of a PIN takes 16 MiB."""
NEW_CODE, TELL_S = "new code", 1.0
IN_THE_CLEAR = "! Nothing is encrypted: PINs can be read on this network."


def listen(door: Door) -> socket.socket:
    """Take the one address and port, before anything else is done.

    Raises
    ------
    DoorRefused
        It cannot be had; the sentence says why.
    """
    family = socket.AF_INET6 if ":" in door.address else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        sock.bind((door.address, door.port))
    except OSError as error:
        sock.close()
        raise DoorRefused(
            f"{door.named} port {door.port} cannot be listened at: {error.strerror}. Name another "
            "--port, or the --address that this machine has on the tablets' network."
        ) from None
    return sock


class BoothServer(uvicorn.Server):
    """A server that says when it listens, and ends in order on a signal."""

    on_listening: Callable[[], None] | None = None
    knocks_at: Crowd | None = None
    """Where callers are counted before their handshake; None where nothing is encrypted here."""

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begin, and only then say so."""
        crowd = self.knocks_at
        if crowd is not None and sockets is not None:
            sockets = [counted(sock, crowd) for sock in sockets]
        await super().startup(sockets=sockets)
        if self.on_listening is not None:
            self.on_listening()

    @contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Stop on the first signal; nothing is raised once more at the end."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {one: signal.signal(one, self.handle_exit) for one in HANDLED}
        try:
            yield
        finally:
            for one, handler in before.items():
                signal.signal(one, handler)


HANDLED = (signal.SIGINT, signal.SIGTERM)


def server_of(served: Served) -> BoothServer:
    """Return the server of these booths, which writes no line about any request."""
    door = served.door
    config = uvicorn.Config(
        make_app(served),
        **SETTINGS,
        http=line_of(served.crowd),
        ssl_certfile=door.certificate,
        ssl_keyfile=door.key,
    )
    try:
        config.load()
    except (OSError, ssl.SSLError):
        raise DoorRefused(
            f"{door.certificate} with {door.key} is no certificate with its key that can be read."
        ) from None
    server = BoothServer(config)
    server.knocks_at = served.crowd if door.certificate else None
    return server


def run_for_desk(served: Served, sock: socket.socket, tell: Tell) -> None:
    """Serve until the desk says so, or is gone: its end of the line closes with it."""
    _spare_memory()
    server = server_of(served)
    told: list[str] = []

    def tell_all() -> None:
        now = json.dumps(standing(served))
        if [now] != told:
            told[:] = [now]
            tell(now)

    served.joining.tell = lambda _code: tell_all()
    server.on_listening = tell_all
    asyncio.run(_serve_for_desk(server, served, sock, tell_all))


def standing(served: Served) -> dict[str, Any]:
    """Return what the desk shows: how to join, who is not heard of, who holds too many lines."""
    now = served.clock()
    silent = {who: int((now - at).total_seconds()) for who, at in sorted(served.heard.items())}
    return {
        "origin": served.door.origin,
        "code": shown_code(served.joining.code),
        "in_the_clear": served.door.in_the_clear,
        "joined": len(served.joining.joined),
        "silent_s": silent,
        "crowded": sorted(served.crowd.refused),
    }


async def _serve_for_desk(
    server: uvicorn.Server, served: Served, sock: socket.socket, tell_all: Callable[[], None]
) -> None:
    loop, ended = asyncio.get_running_loop(), asyncio.Event()

    def end() -> None:
        server.should_exit = True
        ended.set()

    def listen_to_desk() -> None:
        for line in sys.stdin:
            if line.strip() == NEW_CODE:
                loop.call_soon_threadsafe(served.joining.renew)
        with suppress(RuntimeError):  # the server has ended before the desk let go
            loop.call_soon_threadsafe(end)

    async def go_on_telling() -> None:
        while not ended.is_set():
            await asyncio.sleep(TELL_S)
            tell_all()

    threading.Thread(target=listen_to_desk, daemon=True).start()
    telling = asyncio.create_task(go_on_telling())
    await server.serve(sockets=[sock])
    telling.cancel()


def run(served: Served, sock: socket.socket, tell: Tell) -> None:
    """Serve until somebody stops it."""
    _spare_memory()
    server = server_of(served)
    served.joining.tell = lambda code: tell(f"Join code: {shown_code(code)}")
    served.crowd.tell = lambda address: tell(crowd_words(address))
    lines = opening(served, keys=sys.stdin.isatty())
    server.on_listening = lambda: tell("\n".join(lines))
    with _keys_at_once():
        asyncio.run(_serve(server, served, sock))


def opening(served: Served, *, keys: bool) -> Iterator[str]:
    """Yield what stands on the terminal at the start."""
    yield f"Booths of {served.session}: {served.door.origin}"
    yield f"Join code: {shown_code(served.joining.code)}"
    if served.door.in_the_clear:
        yield IN_THE_CLEAR
    yield NOSING_ROOM
    yield "n: a new join code     q: stop" if keys else "Ctrl+C stops it."


async def _serve(server: uvicorn.Server, served: Served, sock: socket.socket) -> None:
    def on_key() -> None:
        pressed = sys.stdin.read(1).lower()
        if pressed == "n":
            served.joining.renew()
        elif pressed in {"q", ""}:
            server.should_exit = True

    if sys.stdin.isatty() and sys.platform != "win32":
        asyncio.get_running_loop().add_reader(sys.stdin.fileno(), on_key)
    await server.serve(sockets=[sock])


@contextmanager
def _keys_at_once() -> Iterator[None]:
    """Let a key count without Enter, where there is a terminal."""
    if not sys.stdin.isatty() or sys.platform == "win32":
        yield
        return
    import termios
    import tty

    here = sys.stdin.fileno()
    before = termios.tcgetattr(here)
    tty.setcbreak(here)
    try:
        yield
    finally:
        termios.tcsetattr(here, termios.TCSAFLUSH, before)


def _spare_memory() -> None:
    with suppress(OSError, AttributeError):
        ctypes.CDLL(None).mallopt(ARENAS, 2)

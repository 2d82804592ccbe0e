"""Lines that callers hold open: a head has its time, an address its number of them."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, cast

import pytest
import uvicorn
from uvicorn.server import ServerState

from panel.serve.door import EncryptedBy, make_door
from panel.serve.lines import HEAD_WITHIN_S, MOST_LINES, MOST_OF_ONE, Crowd, Line, line_of
from panel.serve.running import SETTINGS, listen, server_of, standing
from panel.store.engine import Store
from tests.houses.at_the_booth import Wall
from tests.serve.browsing import served_for

HEAD = b"GET / HTTP/1.1\r\nHost: booths\r\n"


@dataclass
class Due:
    """What was to be done later."""

    seconds: float
    do: Callable[[], None]
    cancelled: bool = False

    def cancel(self) -> None:
        self.cancelled = True


class Task:
    """An answer that is never made."""

    def add_done_callback(self, _done: object) -> None: ...


@dataclass
class Later:
    """A loop that keeps what is to be done later, and does nothing of itself."""

    due: list[Due] = field(default_factory=list)
    tasks: list[Task] = field(default_factory=list)

    def call_later(self, seconds: float, do: Callable[[], None]) -> Due:
        self.due.append(Due(seconds, do))
        return self.due[-1]

    def create_task(self, work: Any, **_: Any) -> Task:
        work.close()
        self.tasks.append(Task())
        return self.tasks[-1]

    @property
    def waits(self) -> list[Due]:
        return [each for each in self.due if not each.cancelled and each.seconds == HEAD_WITHIN_S]


@dataclass
class Wire:
    """The other end of a line."""

    peer: str
    aborted: bool = False

    def get_extra_info(self, name: str) -> object:
        return {"peername": (self.peer, 50000), "sockname": ("127.0.0.1", 8460)}.get(name)

    def abort(self) -> None:
        self.aborted = True

    def is_closing(self) -> bool:
        return self.aborted

    def close(self) -> None:
        self.abort()

    def pause_reading(self) -> None: ...

    def resume_reading(self) -> None: ...


async def nothing(scope: object, receive: object, send: object) -> None: ...


def lined(crowd: Crowd, loop: Later, peer: str = "192.168.4.9") -> tuple[Line, Wire]:
    config = uvicorn.Config(cast("Any", nothing), **SETTINGS, http=line_of(crowd))
    config.load()
    line = line_of(crowd)(config, ServerState(), {}, cast("Any", loop))
    wire = Wire(peer)
    line.connection_made(cast("Any", wire))
    return line, wire


@pytest.fixture
def crowd() -> Crowd:
    return Crowd(make_door("127.0.0.1", 8460))


@pytest.mark.parametrize("sent", [[], [HEAD], [HEAD, b"X-A: 1\r\n", b"X-B: 2\r\n"]])
def test_a_head_that_is_not_whole_in_time_closes_its_line(crowd: Crowd, sent: list[bytes]) -> None:
    loop = Later()
    line, wire = lined(crowd, loop)
    for part in sent:
        line.data_received(part)
    [due] = loop.waits  # set when the line was opened: what trickles in wins no time
    due.do()
    assert wire.aborted


def test_what_was_asked_whole_is_waited_for_no_longer_until_more_is_begun(crowd: Crowd) -> None:
    loop = Later()
    line, wire = lined(crowd, loop)
    line.data_received(HEAD + b"Content-Length: 9\r\n\r\nhalf")
    assert (len(loop.tasks), loop.waits) == (1, [])
    line.cycle.response_complete = True  # answered without its body: what comes on is no head
    line.data_received(b"more")
    [due] = loop.waits
    due.do()
    assert wire.aborted


def test_an_address_holds_so_many_lines_and_is_told_once(crowd: Crowd) -> None:
    told: list[str] = []
    crowd.tell = told.append
    lines = [lined(crowd, Later()) for _ in range(MOST_OF_ONE + 3)]
    assert [wire.aborted for _, wire in lines].count(True) == 3
    assert told == ["192.168.4.9"]
    others = [lined(crowd, Later(), peer="192.168.4.10")[1] for _ in range(14 * 6)]
    assert not any(wire.aborted for wire in others)
    assert MOST_OF_ONE + 14 * 6 < MOST_LINES
    for line, _ in lines:
        line.connection_lost(OSError())
    assert crowd.held == {"192.168.4.10": 84}
    assert not lined(crowd, Later())[1].aborted


def test_of_a_proxy_no_line_is_counted() -> None:
    behind = make_door("127.0.0.1", 8460, EncryptedBy(behind="https://booths.example"))
    crowd = Crowd(behind)
    lines = [lined(crowd, Later(), peer="127.0.0.1") for _ in range(MOST_OF_ONE + 1)]
    assert not any(wire.aborted for _, wire in lines)
    assert not crowd.refused


def test_the_server_that_runs_is_made_of_such_lines(evening: Store, wall: Wall) -> None:
    served = served_for(evening, wall, make_door("127.0.0.1", 0))
    served.crowd.held["127.0.0.1"] = MOST_OF_ONE

    async def knock() -> bytes:
        server = server_of(served)
        with listen(served.door) as sock:
            server.on_listening = lambda: None
            serving = asyncio.create_task(server.serve(sockets=[sock]))
            while not server.started:
                assert not serving.done(), serving
                await asyncio.sleep(0)
            reader, writer = await asyncio.open_connection(*sock.getsockname()[:2])
            try:
                writer.write(HEAD + b"\r\n")  # a line that was let in would be answered
                answer = await reader.read(1)
            except ConnectionResetError:
                answer = b""
            writer.close()
            server.should_exit = True
            await serving
        return answer

    assert asyncio.run(knock()) == b""
    assert standing(served)["crowded"] == ["127.0.0.1"]

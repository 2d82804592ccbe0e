"""The lines that callers hold open: none for long without asking, and no address too many.

What has not been asked whole in time is nobody's booth, and a line is closed before it takes the
place of one. A proxy of ours holds the lines of everybody, so its are not counted.
"""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

if TYPE_CHECKING:
    from panel.serve.door import Door

MOST_LINES = 240
"""Fourteen browsers open six each at most; there is room for them beside one greedy address."""
MOST_OF_ONE = 120
"""Fourteen browsers behind one router have one address."""
HEAD_WITHIN_S = 10.0


@dataclass
class Crowd:
    """How many lines each address holds open, and which have been refused more."""

    door: Door
    tell: Callable[[str], None] | None = None
    """Told of an address once, when it is refused for the first time."""
    held: Counter[str] = field(default_factory=Counter)
    refused: set[str] = field(default_factory=set)
    knocking: set[tuple[str, int]] = field(default_factory=set)
    """Addresses and ports whose handshake is not done: they are held as well."""

    def enter(self, address: str) -> bool:
        """Count a line; False where its address holds all that it may."""
        if self.door.is_proxy(address):
            return True
        if self.held[address] >= MOST_OF_ONE:
            if address not in self.refused:
                self.refused.add(address)
                if self.tell is not None:
                    self.tell(address)
            return False
        self.held[address] += 1
        return True

    def knock(self, peer: tuple[str, int]) -> bool:
        """Count a line before its handshake; False where its address holds all that it may."""
        if not self.enter(peer[0]):
            return False
        self.knocking.add(peer)
        return True

    def heard(self, peer: tuple[str, int] | None) -> None:
        """Count a knock no more: it is a line now, or gone."""
        if peer is not None and peer in self.knocking:
            self.knocking.discard(peer)
            self.leave(peer[0])

    def leave(self, address: str) -> None:
        """Count a line no more."""
        if self.held[address] <= 1:
            self.held.pop(address, None)
        else:
            self.held[address] -= 1


class Line(H11Protocol):
    """One line; it is closed unless a whole head comes in time, and again after each answer."""

    crowd: ClassVar[Crowd]
    counted = False
    head_due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Let a line in, or close it at once."""
        super().connection_made(transport)
        self.crowd.heard(self.client)
        self.counted = self.crowd.enter(self._address)
        if not self.counted:
            self.connections.discard(self)
            transport.abort()
            return
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Count it no more."""
        self._unwatch()
        if self.counted:
            self.counted = False
            self.crowd.leave(self._address)
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Read on. Bytes that make up no request win no time."""
        if not self.counted:
            return
        super().data_received(data)
        self._watch()

    @property
    def _address(self) -> str:
        return str(self.client[0]) if self.client else ""

    def _watch(self) -> None:
        """Begin to wait for a head, or stop, since one is being answered.

        What is sent on behind an answer, such as a body that was refused, is no head either.
        """
        asked: RequestResponseCycle | None = self.cycle  # none before the first request
        if asked is not None and not asked.response_complete:
            self._unwatch()
        elif self.head_due is None:
            self.head_due = self.loop.call_later(HEAD_WITHIN_S, self.transport.abort)

    def _unwatch(self) -> None:
        if self.head_due is not None:
            self.head_due.cancel()
            self.head_due = None


def line_of(crowd: Crowd) -> type[Line]:
    """Return the kind of line of one server."""
    return type("LineHere", (Line,), {"crowd": crowd})


def crowd_words(address: str) -> str:
    """Return what a lead is told of an address that was refused."""
    return (
        f"! {address} holds {MOST_OF_ONE} lines open, more than booths need: others from there are "
        "refused. Look whose machine that is."
    )

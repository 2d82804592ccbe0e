"""What the server knows while it runs, and how it waits for disks and hashes beside its answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

import anyio

from panel.serve.joining import Joining
from panel.serve.lines import Crowd

if TYPE_CHECKING:
    from datetime import datetime

    from panel.clock import Clock
    from panel.seat.values import Store
    from panel.serve.door import Door

Found = TypeVar("Found")
HASHES_AT_ONCE, HASHES_WAITING = 2, 28
"""A PIN's slow hash takes 16 MiB: two at once, and twice as many wait as there are booths."""
QUESTIONS_AT_ONCE = 12


@dataclass
class Served:
    """What the server knows while it runs: nothing of it is lost with it but the join code."""

    store: Store
    session: str
    door: Door
    clock: Clock
    joining: Joining = field(default_factory=Joining)
    heard: dict[str, datetime] = field(default_factory=dict)
    """When each seat's browser was heard of last; whoever left is not among them."""
    crowd: Crowd = field(init=False)
    hashes: anyio.CapacityLimiter = field(
        default_factory=lambda: anyio.CapacityLimiter(HASHES_AT_ONCE)
    )
    questions: anyio.CapacityLimiter = field(
        default_factory=lambda: anyio.CapacityLimiter(QUESTIONS_AT_ONCE)
    )

    def __post_init__(self) -> None:
        """Count lines by the door that they come through."""
        self.crowd = Crowd(self.door)


async def in_thread(limit: anyio.CapacityLimiter, work: Callable[[], Found]) -> Found:
    """Do what waits for a disk or a hash beside the answers to others."""
    return await anyio.to_thread.run_sync(work, limiter=limit)

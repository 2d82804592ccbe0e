"""A plain booth under test: a hand that answers what is asked, an ear that notes what is said."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from panel.booth.aloud.booth import PlainBooth
from panel.booth.aloud.terminal import InputEnded
from panel.clock import Clock
from panel.seat.records import Records
from panel.store.engine import Store
from tests.houses.at_the_booth import NAME, PINS

Meanwhile = Callable[[], object]
"""What happens before an answer, which it returns, or while none is typed."""


@dataclass
class Hand:
    """Answers in their order, then nothing more."""

    answers: list[str | Meanwhile]
    said: list[str] = field(default_factory=list)
    unseen: list[str] = field(default_factory=list)
    waits_s: list[float | None] = field(default_factory=list)
    heed: Callable[[str], None] = lambda line: None

    def say(self, line: str) -> None:
        self.heed(line)
        self.said.extend(line.splitlines())

    def hear(self, within_s: float | None = None, *, unseen: bool = False) -> str | None:
        if not self.answers:
            raise InputEnded
        answer = self.answers.pop(0)
        if not isinstance(answer, str):
            done = answer()
            if not isinstance(done, str):
                self.waits_s.append(within_s)
                return None
            answer = done
        if unseen:
            self.unseen.append(answer)
        return answer

    @property
    def text(self) -> str:
        return "\n".join(self.said)

    def since(self, line: str) -> list[str]:
        """Return what was said after a line."""
        return self.said[self.said.index(line) + 1 :]


def sit(
    store: Store | Callable[[], Store],
    clock: Clock,
    *answers: str | Meanwhile,
    who: str = "A1",
    session: str | None = NAME,
    heed: Callable[[str], None] | None = None,
) -> tuple[Hand, PlainBooth, int]:
    """Sign somebody in, give the answers, and end the input; return what came of it."""
    hand = Hand([who, PINS[who], *answers])
    if heed is not None:
        hand.heed = heed
    booth = PlainBooth(Records(store, session, clock), hand)
    return hand, booth, booth.run()

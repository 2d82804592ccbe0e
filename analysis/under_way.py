"""What takes a while tells how far it is, and ends early where nobody waits for it any more.

Whoever waits says so around the call (:func:`watched`); a loop that is long says where it is
(:func:`step`), or only asks whether to go on (:func:`go_on`). Nothing that is reckoned hangs on
it. It holds for the thread that waits: other threads and helper processes are ended by that one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum

from .errors import StoppedError


class Stage(StrEnum):
    """Which reckoning is under way; its text is what a person reads of it."""

    PROFILE = "What each sample is"
    INFLUENCES = "What moves each note"
    AGEING = "How styles grow"
    VATTING = "Casks and litres"
    PLANNING = "The stock over the years"
    MENDING = "What would mend a release"


PARTS = {
    Stage.PROFILE: "note",
    Stage.INFLUENCES: "note",
    Stage.AGEING: "note",
    Stage.VATTING: "part",
    Stage.PLANNING: "part",
    Stage.MENDING: "release",
}
"""What is counted of a stage."""


@dataclass(frozen=True)
class Step:
    """How far a reckoning is.

    Attributes
    ----------
    stage
        Which.
    done, of
        Parts of it that are done, and all of them.
    """

    stage: Stage
    done: int
    of: int

    @property
    def share(self) -> float:
        """Part of the stage that is done, 0 to 1."""
        return self.done / self.of if self.of else 1.0

    @property
    def words(self) -> str:
        """What a person reads."""
        parts = f"{PARTS[self.stage]}s" if self.of != 1 else PARTS[self.stage]
        return f"{self.stage.value}: {self.done} of {self.of} {parts}, {self.share:.0%}"


@dataclass(frozen=True)
class _Watch:
    tell: Callable[[Step], object]
    stopped: Callable[[], bool]


_WATCH: ContextVar[_Watch | None] = ContextVar("watch", default=None)


def _never() -> bool:
    return False


@contextmanager
def watched(tell: Callable[[Step], object], stopped: Callable[[], bool] = _never) -> Iterator[None]:
    """Have what is reckoned inside tell how far it is, and end once it is to be stopped."""
    before = _WATCH.set(_Watch(tell, stopped))
    try:
        yield
    finally:
        _WATCH.reset(before)


def go_on() -> None:
    """End here if nobody waits any more.

    Raises
    ------
    StoppedError
        If whoever waited does not.
    """
    watch = _WATCH.get()
    if watch is not None and watch.stopped():
        raise StoppedError


def step(stage: Stage, done: int, of: int) -> None:
    """Tell how far a reckoning is, and end here if nobody waits any more.

    Raises
    ------
    StoppedError
        If whoever waited does not.
    """
    go_on()
    watch = _WATCH.get()
    if watch is not None:
        watch.tell(Step(stage, done, of))

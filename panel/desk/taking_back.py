"""What was done last at this desk and can be taken back by who did it, for a little while."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from panel.clock import TAKE_BACK


@dataclass(frozen=True)
class TakeBack:
    """An act and what reverses it: a new record beside the first, which stays in the log.

    `undo` raises `NotAllowed` where something rests on the act by then.
    """

    words: str
    of: str
    by: str | None
    at: datetime
    undo: Callable[[datetime], object]

    def why_not(self, by: str | None, now: datetime) -> str:
        """Return why it stands, in words; nothing where it can be taken back."""
        if by != self.by:
            return (
                f"{self.words} was done by {self.by or 'somebody else'}: who did it takes it back."
            )
        if now - self.at > TAKE_BACK:
            return f"{self.words} is more than ten minutes ago: write down what is so now."
        return ""

"""Jobs on their way to the disk: in order, one at a time, none forgotten when one fails."""

from __future__ import annotations

from collections import deque
from dataclasses import replace

from panel.errors import OakpanelError
from panel.seat.jobs import Job, KeepScores, LookAgain, PutDown, TakeUp

ONLY_NOW = (TakeUp, PutDown, LookAgain)
"""Asked for at a moment and not repeated later: the assessor may have something else in hand."""


class Keeper:
    """A queue in which changes of the same glass gather until the disk is free.

    A job that failed stays first in the queue; what is changed meanwhile is gathered behind it.
    """

    def __init__(self) -> None:
        self._waiting: deque[Job] = deque()
        self._running: Job | None = None
        self.trouble: OakpanelError | None = None

    def add(self, job: Job) -> None:
        """Put *job* last; scores join those of the same glass that are still waiting."""
        joined = _joined(self._waiting[-1], job) if self._waiting else None
        if joined is not None:
            self._waiting.pop()
        self._waiting.append(joined or job)

    def begin(self) -> Job | None:
        """Return the job to do now, or None where one runs, one failed or none waits."""
        if self._running is not None or self.trouble is not None or not self._waiting:
            return None
        self._running = self._waiting.popleft()
        return self._running

    def done(self) -> None:
        """Forget the job that ran: it is on disk."""
        self._running = None

    def failed(self, error: OakpanelError) -> None:
        """Put the job that ran back in front and stop until `go_on`."""
        job, self._running = self._running, None
        self._waiting = deque(held for held in self._waiting if not isinstance(held, ONLY_NOW))
        if job is None or isinstance(job, ONLY_NOW):
            return
        self.trouble = error
        joined = _joined(job, self._waiting[0]) if self._waiting else None
        if joined is not None:
            self._waiting.popleft()
        self._waiting.appendleft(joined or job)

    def refused(self) -> None:
        """Drop the job that ran: no later try could do it."""
        self._running = None

    def go_on(self) -> None:
        """Try again with what is waiting."""
        self.trouble = None

    def forget_glass(self, serving_id: int) -> None:
        """Drop what waits for a glass that no longer counts."""
        kept = (job for job in self._waiting if getattr(job, "serving_id", None) != serving_id)
        self._waiting = deque(kept)

    def clear(self) -> None:
        """Drop everything that waits."""
        self._waiting.clear()
        self.trouble = None

    @property
    def idle(self) -> bool:
        """Say whether all is on disk."""
        return self._running is None and not self._waiting

    def under_way(self) -> tuple[Job, ...]:
        """Return what is not on disk yet, in its order."""
        return tuple(job for job in (self._running, *self._waiting) if job is not None)

    def unsaved(self) -> dict[int, dict[int, int | None]]:
        """Return the scores that are not on disk yet, by serving and line."""
        found: dict[int, dict[int, int | None]] = {}
        for job in self.under_way():
            if isinstance(job, KeepScores):
                found.setdefault(job.serving_id, {}).update(job.values)
        return found


def _joined(first: Job, then: Job) -> KeepScores | None:
    """Return both as one job where they are scores of the same glass; the later value counts."""
    if not (isinstance(first, KeepScores) and isinstance(then, KeepScores)):
        return None
    if first.serving_id != then.serving_id:
        return None
    return replace(first, values={**first.values, **then.values})

"""Fits of many descriptors, in more than one process where that pays.

Helpers are plain child processes that read columns and write fits, pickled, on their pipes. They
neither fork nor import the caller's main module, so they are safe under threads, screens, tests
and on every platform; one that fails is done without. Starting one takes half a second, so small
panels are fitted in this process alone.
"""

from __future__ import annotations

import os
import pickle
import subprocess
import sys
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from ..under_way import Stage, step
from .alone import fit_alone
from .column import Alone, Column
from .settings import ProfileSettings

WORTH_A_PROCESS = 150_000
"""Scores from which another process saves more than it costs."""
_LOOK_S = 0.2
"""So often is looked how far the helpers are, and whether anybody still waits."""
_SERVE = f"from {__package__}.worker import serve; serve()"
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


class Crew:
    """This process and its helpers."""

    def __init__(self, helpers: Sequence[subprocess.Popen[bytes]] = ()) -> None:
        self._helpers = list(helpers)
        self._waiting: deque[int] = deque()

    def fit_each(
        self,
        columns: Sequence[Column],
        settings: ProfileSettings,
        meanwhile: Callable[[], object] = lambda: None,
    ) -> list[Alone]:
        """Fit every descriptor; the fits come in the order of the columns.

        The long ones come first, so that no process is left alone with one. What is to be done
        besides is done here while the helpers have begun.
        """
        found: dict[int, Alone] = {}
        self._waiting = deque(sorted(range(len(columns)), key=lambda k: -len(columns[k].y)))
        threads = [
            threading.Thread(target=self._hand_out, args=(helper, columns, settings, found))
            for helper in self._helpers
        ]
        for thread in threads:
            thread.start()
        try:
            meanwhile()
            self._fit_here(columns, settings, found)
            while busy := [thread for thread in threads if thread.is_alive()]:
                busy[0].join(_LOOK_S)
                step(Stage.PROFILE, len(found), len(columns))
            self._fit_here(columns, settings, found)
        finally:
            self._end(threads)
        step(Stage.PROFILE, len(columns), len(columns))
        return [found[k] for k in range(len(columns))]

    def _fit_here(
        self, columns: Sequence[Column], settings: ProfileSettings, found: dict[int, Alone]
    ) -> None:
        while self._waiting:
            try:
                k = self._waiting.popleft()
            except IndexError:
                return
            step(Stage.PROFILE, len(found), len(columns))
            found[k] = fit_alone(columns[k], settings)

    def _end(self, threads: Sequence[threading.Thread]) -> None:
        """Let no helper work on where nobody waits for it: what it has begun is given up."""
        if not any(thread.is_alive() for thread in threads):
            return
        self._waiting.clear()
        for helper in self._helpers:
            helper.terminate()
        for thread in threads:
            thread.join()

    def _hand_out(
        self,
        helper: subprocess.Popen[bytes],
        columns: Sequence[Column],
        settings: ProfileSettings,
        found: dict[int, Alone],
    ) -> None:
        """Keep a helper busy; what it does not bring back is put back.

        One pickler for all, which sends glasses that several columns share once.
        """
        if helper.stdin is None or helper.stdout is None:
            return
        post = pickle.Pickler(helper.stdin, pickle.HIGHEST_PROTOCOL)
        while True:
            try:
                k = self._waiting.popleft()
            except IndexError:
                return
            try:
                post.dump((columns[k], settings))
                helper.stdin.flush()
                found[k] = pickle.load(helper.stdout)
            except (OSError, EOFError, pickle.PickleError):
                self._waiting.appendleft(k)
                return

    def dismiss(self) -> None:
        """End the helpers."""
        for helper in self._helpers:
            for pipe in (helper.stdin, helper.stdout):
                if pipe is not None:
                    _close(pipe)
            helper.terminate()
            helper.wait()


@contextmanager
def crew(n_scores: int, settings: ProfileSettings) -> Iterator[Crew]:
    """Start as many helpers as are worth it, and end them afterwards."""
    wanted = settings.processes or processors()
    if settings.processes is None and n_scores < WORTH_A_PROCESS:
        wanted = 1
    found = Crew([helper for _ in range(wanted - 1) if (helper := _helper()) is not None])
    try:
        yield found
    finally:
        found.dismiss()


def processors() -> int:
    """Processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _helper() -> subprocess.Popen[bytes] | None:
    """Start a helper that finds modules where this process does; never in the working directory."""
    if not sys.executable:
        return None
    path = os.pathsep.join(part for part in sys.path if part)
    environment = os.environ | dict.fromkeys(_ONE_THREAD, "1") | {"PYTHONPATH": path}
    try:
        return subprocess.Popen(
            [sys.executable, "-P", "-c", _SERVE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment,
        )
    except OSError:
        return None


def _close(pipe: object) -> None:
    try:
        pipe.close()  # type: ignore[attr-defined]
    except OSError:
        return

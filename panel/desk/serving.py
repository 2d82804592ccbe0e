"""The server of booths in browsers as the desk runs it: a process of its own, `oakpanel serve`.

Neither the key nor a long reckoning of the desk is in that process. It ends with the desk, even
where the desk is killed: its end of the line closes then.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import IO, cast

from panel.errors import BoothError

COMMAND = "from oakpanel.command import run; run()"
NEW_CODE = "new code"
SILENT_S = 12
"""A page asks every four seconds: one that missed three has no line."""
STOP_WITHIN_S = 8.0
NO_WORD = "The server of booths ended without a word. Start it by `oakpanel serve` to see why."


@dataclass(frozen=True)
class Standing:
    """What the server told last; `silent_s` is how long no word came of each seat's browser."""

    origin: str
    code: str
    in_the_clear: bool
    joined: int
    silent_s: Mapping[str, int]
    crowded: tuple[str, ...] = ()
    """Addresses that hold more lines open than booths need."""

    def out_of_line(self) -> tuple[str, ...]:
        """Return whose browser is not heard of."""
        return tuple(who for who, seconds in self.silent_s.items() if seconds > SILENT_S)


class Serving:
    """A server that runs, and what it told last."""

    def __init__(self, session: str, process: subprocess.Popen[str], first: Standing) -> None:
        self.session = session
        self.standing = first
        self.ended = ""
        self._process = process
        self._listener = threading.Thread(target=self._listen, daemon=True)
        self._listener.start()

    def _listen(self) -> None:
        with cast("IO[str]", self._process.stdout) as told:
            for line in told:
                self.standing = _standing(line)
        with cast("IO[str]", self._process.stderr) as said:
            self.ended = _one_line(said.read()) or NO_WORD

    @property
    def runs(self) -> bool:
        """Whether it runs still."""
        return self._process.poll() is None

    def new_code(self) -> None:
        """Ask for a new join code; it is told with what stands next."""
        line = cast("IO[str]", self._process.stdin)
        try:
            line.write(f"{NEW_CODE}\n")
            line.flush()
        except OSError:
            raise BoothError(self.ended or NO_WORD) from None

    def end(self) -> None:
        """Close the line, upon which it ends; wait until it has."""
        with suppress(OSError):  # it may have ended already
            cast("IO[str]", self._process.stdin).close()
        try:
            self._process.wait(STOP_WITHIN_S)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._listener.join(STOP_WITHIN_S)


def start(session: str, database: str, words: Sequence[str]) -> Serving:
    """Start the server of a session's booths and return it once it listens.

    Raises
    ------
    BoothError
        It cannot: the port is taken, the extra is missing; in the words of the command.
    """
    call = [sys.executable, "-P", "-c", COMMAND, "serve", "--by-desk", *words, "--", session]
    environment = {**os.environ, "OAKPANEL_DB": database}
    process = subprocess.Popen(
        call,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=environment,
        text=True,
        start_new_session=True,  # a Ctrl+C at the desk is the desk's own
    )
    first = cast("IO[str]", process.stdout).readline()
    if not first:
        _, written = process.communicate()
        raise BoothError(_one_line(written) or NO_WORD)
    return Serving(session, process, _standing(first))


def _standing(line: str) -> Standing:
    told = json.loads(line)
    return Standing(
        str(told["origin"]),
        str(told["code"]),
        bool(told["in_the_clear"]),
        int(told["joined"]),
        {str(who): int(seconds) for who, seconds in told["silent_s"].items()},
        tuple(str(address) for address in told["crowded"]),
    )


def _one_line(written: str) -> str:
    """What was written on a process's own error line, told in one line."""
    return " ".join(written.split())

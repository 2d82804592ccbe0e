"""Plain booths to be killed: everything is loaded once, and each is a fork of that.

    python -m tests.faults.plain_nursery DATABASE SESSION

Each line read names two pipes: what the booth hears and where it speaks. Its process number is
told; the next line is read once it is dead.
"""

from __future__ import annotations

import os
import sys

from sqlalchemy.orm import configure_mappers

from panel.booth.aloud.booth import PlainBooth
from panel.booth.aloud.terminal import LineTerminal
from panel.clock import utc_now
from panel.seat.records import Records
from panel.store import booth_queries
from panel.store.opening import open_store

PRELOADED = (booth_queries,)


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def sit(database: str, session: str, ear: str, mouth: str) -> None:
    """Sit until the end, which is not in our hands."""
    hears, speaks = os.open(ear, os.O_RDONLY), os.open(mouth, os.O_WRONLY)
    records = Records(lambda: open_store(database), session, utc_now)
    PlainBooth(records, LineTerminal(hears, speaks)).run()


def main(database: str, session: str) -> None:
    """Start a booth a line."""
    configure_mappers()
    for line in sys.stdin:
        ear, mouth = line.split()
        child = os.fork()
        if child == 0:
            try:
                sit(database, session, ear, mouth)
            finally:
                os._exit(0)
        say(f"started {child}")
        os.waitpid(child, 0)
        say("dead")


if __name__ == "__main__":
    main(*sys.argv[1:])

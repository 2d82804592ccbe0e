"""Servers of booths to be killed: everything is loaded once, and each is a fork of that.

    python -m tests.faults.server_nursery DATABASE SESSION PORT

Each line read starts a server, whose process number is told; the next line is read once it is dead.
"""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime

from sqlalchemy.orm import configure_mappers

from panel.serve import pages
from panel.serve.door import make_door
from panel.serve.running import listen, run
from panel.serve.served import Served
from panel.store import booth_deeds, booth_queries, booth_return
from panel.store.opening import open_store

PRELOADED = (booth_deeds, booth_queries, booth_return)


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def load_everything() -> None:
    """Do once what every server would do at its first pages."""
    configure_mappers()
    for template in pages.TEMPLATES.glob("*.html"):
        pages.environment().get_template(template.name)


def serve(database: str, session: str, port: int) -> None:
    """Serve until the end, which is not in our hands."""
    door = make_door("127.0.0.1", port)
    served = Served(open_store(database), session, door, lambda: datetime.now(UTC))
    run(served, listen(door), say)


def main(database: str, session: str, port: str) -> None:
    """Start a server a line."""
    load_everything()
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: SIM115 - it is the server's own
            serve(database, session, int(port))
            os._exit(0)
        say(f"started {child}")
        os.waitpid(child, 0)


if __name__ == "__main__":
    main(*sys.argv[1:])

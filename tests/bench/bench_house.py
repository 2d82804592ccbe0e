"""Whole commands on a house of 25,300 casks: processor seconds, and the bare imports beside them.

    python -m tests.bench.bench_house FOLDER [DEALT] [RUNS] [ROW ...]

Builds the house of :mod:`tests.bench.large_house` in FOLDER from its plain files as a house would
load them (some minutes), with that share of its second visits dealt over all copies; a house that
is there already is used again, and is changed. Each command is a process of its own, helpers
counted in, from compiled modules, of which the least of so many runs is told. Rows are those of
`ROWS`, all by default: `match` in its states, `vat` with prices, influences, ageing, the agreement
of a session, the list of casks, the review of the warehouses, the desk's first paint, 923,720
scores fitted, and the imports that `match` ends with by themselves.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from sqlalchemy import select

from panel.store.kept_files import place_of
from panel.store.lexicon import Descriptor
from panel.store.opening import open_store
from panel.store.sessions import PanelSession
from panel.store.targets import StoredTarget, StoredTargetLine
from tests.bench.bench_cask_list import FIRST_PAINT
from tests.bench.bench_kept import drop, score, sign_in
from tests.bench.large_house import KINDS, LargeHouse

RUN = "from oakpanel.command import run; run()"
LISTED = """
import sys
from panel.cli.main import run
try:
    run()
except SystemExit:
    pass
with open({path!r}, "w") as out:
    out.write("\\n".join(sys.modules))
"""
TARGET, OTHER = "Lantern", "Kiln"
AIMS = {
    "hearth smoke": 18.0,
    "custard skin": 28.0,
    "boat shed": 12.0,
    "damp cellar": 10.0,
    "walnut skin": 14.0,
}
"""Of another target: two notes of the first, three that it has not."""
MATCH = ("match", TARGET, "--top", "10")
ANOTHER = ("match", OTHER, "--top", "10")
VAT = ("vat", TARGET, "--bottles", "3000")
PACKAGES = ("panel", "analysis", "numpy", "scipy", "pandas", "sqlalchemy", "click", "threadpoolctl")
ENV = {
    **{name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"},
    "OPENBLAS_NUM_THREADS": "1",
    "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "oakpanel-bench-compiled"),
}


@dataclass(frozen=True)
class Spent:
    """What a process took, its helpers counted in."""

    processor_s: float
    clock_s: float

    def __str__(self) -> str:
        return f"{self.processor_s:6.2f} s of processor  {self.clock_s:6.2f} s by the clock"


def spent(arguments: Sequence[str]) -> Spent:
    """Run Python and wait for it."""
    started = time.perf_counter()
    child = subprocess.Popen([sys.executable, *arguments], stdout=subprocess.DEVNULL, env=ENV)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise RuntimeError(f"{arguments} ended with {child.returncode}")
    return Spent(usage.ru_utime + usage.ru_stime, time.perf_counter() - started)


def least(
    runs: int, arguments: Sequence[str], before: Callable[[], object] = lambda: None
) -> Spent:
    """The run that took least, each with something done before it."""
    found = []
    for _ in range(runs):
        before()
        found.append(spent(arguments))
    return min(found, key=lambda one: one.processor_s)


def command(database: Path, *arguments: str) -> list[str]:
    """A command of the program, as arguments of Python."""
    return ["-c", RUN, "--db", str(database), *arguments]


def built(folder: Path, dealt: float) -> Path:
    """The database of the house, loaded where it is not there yet."""
    database = folder / f"house-{dealt:g}.sqlite"
    if database.exists():
        return _with_another_target(database)
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as name:
        files, loading = Path(name), Path(name) / "loading.sqlite"
        LargeHouse(dealt=dealt).write(files)
        spent(command(loading, "db", "init"))
        for kind in (*KINDS, "scores"):
            took = spent(command(loading, "load", kind, str(files / f"{kind}.csv")))
            print(f"load {kind:12s}{took}", flush=True)
        loading.rename(database)
    return _with_another_target(database)


def _with_another_target(database: Path) -> Path:
    store = open_store(str(database))
    with store.write() as db:
        if db.scalars(select(StoredTarget).where(StoredTarget.name == OTHER)).first() is None:
            notes = {each.name: each for each in db.scalars(select(Descriptor))}
            lines = [
                StoredTargetLine(
                    descriptor=notes[name], place=place, aim=aim, tolerance=9.0, weight=1.0
                )
                for place, (name, aim) in enumerate(AIMS.items(), start=1)
            ]
            db.add(StoredTarget(name=OTHER, lines=lines))
    store.close()
    return database


def kept(database: Path) -> set[Path]:
    """All that is kept of a database."""
    store = open_store(str(database))
    found = set(place_of(store.url).files())
    store.close()
    return found


def imported(database: Path) -> list[str]:
    """The modules that `match` ends with, in the order in which it took them."""
    with tempfile.NamedTemporaryFile("r", suffix=".txt") as listed:
        listing = LISTED.format(path=listed.name)
        spent(["-c", listing, "--db", str(database), *MATCH])
        return [name for name in listed.read().split() if name.split(".")[0] in PACKAGES]


@dataclass(frozen=True)
class Bench:
    """One house, asked again and again."""

    database: Path
    runs: int

    def show(
        self, what: str, arguments: Sequence[str], before: Callable[[], object] = lambda: None
    ) -> None:
        """Print the least of some runs."""
        print(f"{what:34s}{least(self.runs, arguments, before)}", flush=True)

    def first(self, what: str, *words: str, between: Callable[[], object] = lambda: None) -> None:
        """Print what a question costs that is asked for the first time, all else being kept."""
        had = kept(self.database)
        asked = command(self.database, *words)
        self.show(what, asked, partial(self._forget, had, between))
        self._forget(had, between)

    def _forget(self, had: set[Path], then: Callable[[], object]) -> None:
        for file in kept(self.database) - had:
            file.unlink()
        then()

    def imports(self) -> None:
        """What is imported, by itself."""
        bare = "\n".join(f"import {name}" for name in imported(self.database))
        self.show("the imports of match", ["-c", bare])

    def match(self) -> None:
        """In each state of what is kept."""
        asked, database = command(self.database, *MATCH), self.database
        moved = partial(sign_in, database)
        self.show("match, nothing kept", asked, partial(drop, database))
        self.first("match, another target", *ANOTHER)
        self.show("match, the same target again", asked)
        self.first("match, log moved, another target", *ANOTHER, between=moved)
        self.show("match, the log moved, no score did", asked, moved)

    def session(self) -> None:
        """A session more: the fit is made anew."""
        asked = command(self.database, *MATCH)
        self.show("match, a score changed", asked, partial(score, self.database))

    def questions(self) -> None:
        """Each asked for the first time on a fit that is kept, and again."""
        session = self.newest()
        spent(command(self.database, *MATCH))
        for words in (VAT, ("influences",), ("ageing",), ("agreement", session)):
            self.first(f"{words[0]}, asked first", *words)
            spent(command(self.database, *words))
            self.show(f"{words[0]}, asked again", command(self.database, *words))

    def casks(self) -> None:
        """The list of casks."""
        self.show("cask list", command(self.database, "cask"))

    def review(self) -> None:
        """What the warehouse asks for: first, again, and after somebody signed in."""
        moved = partial(sign_in, self.database)
        self.first("stock review, asked first", "stock", "review")
        asked = command(self.database, "stock", "review")
        spent(asked)
        self.show("stock review, asked again", asked)
        self.show("stock review, the log moved", asked, moved)
        for by in ("parcel", "warehouse"):
            self.show(f"cask list, folded by {by}", command(self.database, "cask", "--by", by))

    def paint(self) -> None:
        """From the start of the desk's process to its first picture."""
        self.show("desk, to the first paint and out", ["-c", FIRST_PAINT])

    def million(self) -> None:
        """Another house: 923,720 scores fitted, reading and imports left out."""
        speed = [sys.executable, "-m", "tests.bench.bench_profile_speed", "house"]
        subprocess.run(speed, env=ENV, check=True)

    def newest(self) -> str:
        """Name of the session held last."""
        store = open_store(str(self.database))
        with store.read() as db:
            name = db.scalars(select(PanelSession.name).order_by(PanelSession.held_on.desc()))
            found = str(name.first())
        store.close()
        return found


ROWS: dict[str, Callable[[Bench], None]] = {
    "imports": Bench.imports,
    "match": Bench.match,
    "session": Bench.session,
    "questions": Bench.questions,
    "casks": Bench.casks,
    "review": Bench.review,
    "paint": Bench.paint,
    "million": Bench.million,
}


def main(folder: Path, dealt: float, runs: int, rows: Sequence[str]) -> None:
    """Build, run, print."""
    bench = Bench(built(folder, dealt), runs)
    print(f"second visits dealt over all copies: {dealt:g}; the least of {runs} runs")
    for row in rows or ROWS:
        ROWS[row](bench)


if __name__ == "__main__":
    main(
        Path(sys.argv[1]),
        float(sys.argv[2]) if len(sys.argv) > 2 else 0.0,
        int(sys.argv[3]) if len(sys.argv) > 3 else 2,
        sys.argv[4:],
    )

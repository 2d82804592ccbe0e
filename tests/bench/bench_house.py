"""Whole commands on a house of 25,300 casks: processor seconds, and the bare imports beside them.

    python -m tests.bench.bench_house FOLDER [DEALT] [RUNS]

Builds the house of :mod:`tests.bench.large_house` in FOLDER from its plain files as a house would
load them (some minutes), with that share of its second visits dealt over all copies; a house that
is there already is used again. Each command is a process of its own, helpers counted in, of
which the least of so many runs is told: `match` with nothing kept, and the imports it ends with
by themselves.
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

from tests.bench.bench_kept import drop, sign_in
from tests.bench.large_house import KINDS, LargeHouse

RUN = "from panel.cli.main import run; raise SystemExit(run())"
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
TARGET = "Lantern"
MATCH = ("match", TARGET, "--top", "10")
PACKAGES = ("panel", "analysis", "numpy", "scipy", "pandas", "sqlalchemy", "click", "threadpoolctl")
ENV = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}


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
        return database
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=folder) as name:
        files, loading = Path(name), Path(name) / "loading.sqlite"
        LargeHouse(dealt=dealt).write(files)
        spent(command(loading, "db", "init"))
        for kind in (*KINDS, "scores"):
            took = spent(command(loading, "load", kind, str(files / f"{kind}.csv")))
            print(f"load {kind:12s}{took}", flush=True)
        loading.rename(database)
    return database


def imported(database: Path) -> list[str]:
    """The modules that `match` ends with, in the order in which it took them."""
    with tempfile.NamedTemporaryFile("r", suffix=".txt") as listed:
        listing = LISTED.format(path=listed.name)
        spent(["-c", listing, "--db", str(database), *MATCH])
        return [name for name in listed.read().split() if name.split(".")[0] in PACKAGES]


def main(folder: Path, dealt: float, runs: int) -> None:
    """Build, run, print."""
    database = built(folder, dealt)
    print(f"second visits dealt over all copies: {dealt:g}; the least of {runs} runs")
    bare = "\n".join(f"import {name}" for name in imported(database))
    print(f"the imports of match        {least(runs, ['-c', bare])}", flush=True)
    match, nothing = command(database, *MATCH), partial(drop, database)
    print(f"match, nothing kept         {least(runs, match, nothing)}", flush=True)
    print(f"another target, the same    {least(runs, match)}", flush=True)
    print(
        f"the log moved, no score did {least(runs, match, partial(sign_in, database))}", flush=True
    )


if __name__ == "__main__":
    main(
        Path(sys.argv[1]),
        float(sys.argv[2]) if len(sys.argv) > 2 else 0.0,
        int(sys.argv[3]) if len(sys.argv) > 3 else 2,
    )

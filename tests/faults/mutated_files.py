"""Damaged files of every kind are loaded: no traceback, no abort, nothing half written.

Run: .venv/bin/python -m tests.faults.mutated_files [FILES] [FIRST_SEED]     (20,000 from 1 on)

Every file has a seed of its own, so that one that fails can be had again. They are tried in
processes of their own with 3 GiB of memory each: one that dies is named by the seed it was at.
"""

from __future__ import annotations

import json
import resource
import shutil
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from time import monotonic

from panel.errors import OakpanelError
from panel.intake.loading import load_file
from panel.store.engine import Store, sqlite_module
from panel.store.opening import make_database, open_store
from tests.faults.mutations import mutated
from tests.intake.files import STOCK

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
BY = "lead"
MEMORY_BYTES = 3 * 2**30
A_PROCESS = 500
DATABASE, AT = "panel.sqlite", "at.txt"


@dataclass
class Trial:
    """What became of the files; `failed` names seeds with what went wrong."""

    became: Counter[str] = field(default_factory=Counter)
    failed: list[str] = field(default_factory=list)


class Tried:
    """A house into which damaged files are loaded, made anew once one was taken."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.sound = folder / "sound.sqlite"
        store = make_database(str(self.sound))
        for kind, content in STOCK:
            path = folder / "stock.csv"
            path.write_text(content, encoding="utf-8")
            assert not load_file(store, kind, path, now=NOW, by=BY).problems
        store.close()
        self.before = dump(self.sound)
        self.store = self._anew()

    def _anew(self) -> Store:
        shutil.copy(self.sound, self.folder / DATABASE)
        return open_store(str(self.folder / DATABASE))

    def load(self, seed: int) -> tuple[str, str]:
        """Load the file of a seed; return what became of it and what was wrong with that."""
        kind, data = mutated(Random(seed))
        path = self.folder / f"file{seed}.dat"
        path.write_bytes(data)
        try:
            report = load_file(self.store, kind, path, now=NOW, by=BY, create=bool(seed % 2))
        except OakpanelError as refusal:
            return "refused", self._untouched() or _is_sentence(str(refusal))
        except Exception as error:  # noqa: BLE001 - whatever comes through is what is looked for
            return "broke", f"{type(error).__name__}: {error}"
        finally:
            path.unlink()
        if not report.written:
            said = (problem.sentence() for problem in report.problems)
            wrong = next((wrong for one in said if (wrong := _is_sentence(one))), "")
            became = "with faults" if report.problems else "unchanged"
            return became, self._untouched() or wrong
        self.store.close()
        self.store = self._anew()
        return "taken", ""

    def _untouched(self) -> str:
        left = {file.name for file in self.folder.iterdir()} - _expected()
        if any(not name.startswith("file") for name in left):
            return f"left behind: {sorted(left)}"
        return "" if dump(self.folder / DATABASE) == self.before else "half written"


def _expected() -> set[str]:
    return {"sound.sqlite", "stock.csv", AT, DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm"}


def _is_sentence(said: str) -> str:
    return "" if said.strip() and "Traceback" not in said else f"no sentence: {said!r}"


def dump(path: Path) -> str:
    """Return all that a database holds."""
    held = sqlite_module().connect(path)
    try:
        tables = held.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return "\n".join(
            str(held.execute(f"SELECT * FROM {name}").fetchall()) for (name,) in tables
        )
    finally:
        held.close()


def try_files(folder: Path, first: int, files: int) -> Trial:
    """Load the files of these seeds, one after another."""
    trial, tried = Trial(), Tried(folder)
    for seed in range(first, first + files):
        (folder / AT).write_text(str(seed), encoding="utf-8")
        became, wrong = tried.load(seed)
        trial.became[became] += 1
        if wrong:
            trial.failed.append(f"{seed}: {became}: {wrong[:300]}")
    tried.store.close()
    return trial


def try_apart(first: int, files: int) -> Trial:
    """Do the same in a process of its own, which may die."""
    with TemporaryDirectory() as name:
        words = [sys.executable, "-m", "tests.faults.mutated_files", "--here", name]
        done = subprocess.run(
            [*words, str(first), str(files)], capture_output=True, text=True, check=False
        )
        if done.returncode:
            reached = Path(name) / AT
            at = reached.read_text(encoding="utf-8") if reached.exists() else "before all"
            ended = f"{at}: the process ended with {done.returncode}: {done.stderr[-300:]}"
            return Trial(Counter({"died": 1}), [ended])
        told = json.loads(done.stdout)
        return Trial(Counter(told["became"]), told["failed"])


def main(files: int, first: int) -> int:
    """Try them all and tell what became of them."""
    start, whole = monotonic(), Trial()
    for seed in range(first, first + files, A_PROCESS):
        trial = try_apart(seed, min(A_PROCESS, first + files - seed))
        whole.became.update(trial.became)
        whole.failed += trial.failed
        sys.stderr.write(f"{seed}: {dict(whole.became)}\n")
    told = {"files": files, "seconds": round(monotonic() - start), **whole.became}
    sys.stdout.write(json.dumps({**told, "failed": whole.failed}, indent=1) + "\n")
    return 1 if whole.failed else 0


def _here(folder: str, first: str, files: str) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    trial = try_files(Path(folder), int(first), int(files))
    sys.stdout.write(json.dumps({"became": trial.became, "failed": trial.failed}))


if __name__ == "__main__":
    if sys.argv[1:2] == ["--here"]:
        _here(*sys.argv[2:])
    else:
        numbers = [int(word) for word in sys.argv[1:]]
        sys.exit(main(*(numbers + [20_000, 1][len(numbers) :])))

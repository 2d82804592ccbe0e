"""Do the tests bite? One line of a module is changed, and the tests that reach it are run.

Run: .venv/bin/python -m tests.faults.mutants MODULE... [--count N] [--seed S]

MODULE is a folder or a file of BELONGING. Which test reaches which line is found first, once for
each module, and kept in the folder of `--kept`. Changes are drawn of lines that are reached, what
decides before what reckons, and are made in a copy of the tree. What survived is written one to a
line; `--again FILE` tries those of such a file anew, with the tests of `--also` before the others.
What nobody could tell from the program as it is stands in equivalent.txt beside this, with why.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from argparse import ArgumentParser, Namespace
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from random import Random
from shutil import copy, copytree, ignore_patterns
from tempfile import TemporaryDirectory
from time import monotonic

import pytest

from tests.faults.line_changes import Change, changes_of

HERE = Path(__file__).resolve().parents[2]
EQUIVALENT = Path(__file__).with_name("equivalent.txt")
BELONGING = {
    "analysis/agreement": (
        *("tests/analysis/agreement", "tests/outside/test_agreement_indices.py"),
        *("tests/outside/test_agreement_incomplete.py", "tests/outside/test_agreement_wine.py"),
        *("tests/outside/test_agreement_french_fries.py", "tests/outside/test_sessions_apart.py"),
    ),
    "analysis/profile": (
        *("tests/analysis/profile", "tests/outside/test_profile_statsmodels.py"),
        "tests/outside/test_profile_french_fries.py",
    ),
    "analysis/vatting": ("tests/analysis/vatting",),
    "analysis/target": ("tests/analysis/target",),
    "panel/frames": ("tests/frames", "tests/questions"),
    "panel/intake": ("tests/intake",),
    "panel/release": ("tests/release",),
    "panel/session": ("tests/session",),
    "panel/store": ("tests/store",),
}
"""The tests that belong to a module: those that are to find what is wrong with it."""
CHOSEN = ("-n", "0", "-q", "-m", "not slow and not wheel", "-p", "no:cacheprovider")
QUIET = (*CHOSEN, "-x", "--no-header", "--tb=no")
HEAVY = (
    *("alembic", "click", "numpy", "openpyxl", "pandas", "scipy.optimize"),
    *(
        "scipy.stats",
        "sklearn.cross_decomposition",
        "sqlalchemy.orm",
        "textual.app",
        "textual.widgets",
    ),
)
"""Loaded once, before any test is run: they take longer than most tests."""
LONGEST_SECONDS = 400
DID_NOT_RUN = {3, 5}
"""What a run ends with that says nothing of the change: it broke down, or found no tests."""
PARTS = 8, 40
"""Tests of one change run in parts: first these, the quickest, then this many at a time."""


@dataclass(frozen=True)
class Reach:
    """The tests that reach a line of a file, the quickest first."""

    lines: dict[str, dict[str, list[str]]]
    seconds: dict[str, float]

    def tests(self, change: Change) -> list[str]:
        """Return the tests that reach the line of a change, the quickest first."""
        lines = self.lines.get(change.path, {})
        found = set(lines.get(str(change.line), []))
        if change.at_import:
            found = {test for tests in lines.values() for test in tests}
        return sorted(found, key=lambda test: (self.seconds[test], test))


def reach_of(module: str, kept: Path) -> Reach:
    """Return which tests reach what of a module, from the kept file if there is one."""
    told = kept / f"{module.replace('/', '.')}.json"
    if not told.exists():
        words = (
            *CHOSEN,
            "-p",
            "tests.faults.reached",
            "--reached",
            str(told.resolve()),
            "--of",
            module,
        )
        named = (sys.executable, "-m", "pytest", *words, *BELONGING[module])
        subprocess.run(named, cwd=HERE, check=False, stdout=sys.stderr)
    return Reach(**json.loads(told.read_text(encoding="utf-8")))


def home_of(path: str) -> str:
    """Return the module of BELONGING that a path is of."""
    return next(module for module in BELONGING if Path(path).is_relative_to(module))


def drawn(path: str, reach: Reach, count: int, random: Random) -> list[Change]:
    """Draw changes of lines that are reached, at most one a line and none that is equivalent."""
    known = equivalents()
    places = Path(HERE / path)
    files = [places] if places.is_file() else sorted(places.rglob("*.py"))
    of_line: dict[tuple[str, int], list[Change]] = {}
    for file in files:
        name = str(file.relative_to(HERE))
        for change in changes_of(name, file.read_text(encoding="utf-8")):
            if reach.tests(change) and change.key not in known:
                of_line.setdefault((name, change.line), []).append(change)
    rest = list(of_line.values())
    taken: list[Change] = []
    while rest and len(taken) < count:
        weights = [max(change.weight for change in changes) for changes in rest]
        (place,) = random.choices(range(len(rest)), weights)
        changes = rest.pop(place)
        taken += random.choices(changes, [change.weight for change in changes])
    return taken


def equivalents() -> set[tuple[str, str, str]]:
    """Read which changes no test can find: of each a file, its line, what it becomes, and why."""
    lines = EQUIVALENT.read_text(encoding="utf-8").splitlines()
    parts = [line.split(" | ") for line in lines if line and not line.startswith("#")]
    return {(part[0], part[1], part[2]) for part in parts}


def survives(copied: Path, change: Change, tests: list[str], also: list[str]) -> bool:
    """Make one change in the copy, run the tests, and take the change back."""
    file = copied / change.path
    source = file.read_text(encoding="utf-8")
    file.write_text(change.done_to(source), encoding="utf-8")
    try:
        return all(_pass(copied, part) for part in _parts(tests, also))
    finally:
        file.write_text(source, encoding="utf-8")


def _parts(tests: list[str], also: list[str]) -> Iterator[list[str]]:
    few, many = PARTS
    yield from (also, tests[:few])
    for start in range(few, len(tests), many):
        yield tests[start : start + many]


def _pass(copied: Path, tests: list[str]) -> bool:
    """Run tests in a process of its own, forked where numpy and its like are loaded already."""
    if not tests:
        return True
    run = get_context("fork").Process(target=_run, args=(copied, tests))
    run.start()
    run.join(LONGEST_SECONDS)
    if run.is_alive():
        run.kill()
        run.join()
    elif run.exitcode in DID_NOT_RUN:
        raise RuntimeError(f"the tests of this change did not run: {run.exitcode}, {tests}")
    return run.exitcode == 0


def _run(copied: Path, tests: list[str]) -> None:
    os.chdir(copied)
    sys.path.insert(0, str(copied))
    for name in [name for name in sys.modules if name.split(".")[0] == "tests"]:
        del sys.modules[name]
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    os._exit(pytest.main([*QUIET, *tests]))


def copied_to(folder: Path) -> Path:
    """Copy what tests need into a folder."""
    left = ignore_patterns("__pycache__", "*.pyc")
    for name in ("panel", "analysis", "demo_panel", "tests"):
        copytree(HERE / name, folder / name, ignore=left)
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        copy(HERE / name, folder)
    return folder


def asked_for(asked: Namespace) -> Iterator[tuple[Change, Reach]]:
    """Give the changes to try: those that were kept, or as many of each module as asked."""
    asked.kept.mkdir(parents=True, exist_ok=True)
    again = [tuple(line.split(" | ")[:3]) for line in _lines(asked.again)]
    for path in asked.modules or sorted({key[0] for key in again}):
        reach = reach_of(home_of(path), asked.kept)
        if not again:
            chosen = drawn(path, reach, asked.count, Random(f"{asked.seed} {path}"))
        else:
            source = (HERE / path).read_text(encoding="utf-8")
            wanted = set(again) - equivalents()
            chosen = [change for change in changes_of(path, source) if change.key in wanted]
        yield from ((change, reach) for change in chosen)


def _lines(file: Path | None) -> list[str]:
    return file.read_text(encoding="utf-8").splitlines() if file else []


def asked_by(words: list[str]) -> Namespace:
    """Read the command line."""
    parser = ArgumentParser(prog="python -m tests.faults.mutants")
    parser.add_argument("modules", nargs="*", metavar="MODULE")
    parser.add_argument("--count", type=int, default=20, help="changes of each module")
    parser.add_argument("--seed", default="1")
    parser.add_argument("--kept", type=Path, default=Path(".reached"))
    parser.add_argument("--again", type=Path, help="a file of changes that survived")
    parser.add_argument("--also", nargs="*", default=[], metavar="TEST")
    return parser.parse_args(words)


def main(words: list[str]) -> int:
    """Try the changes asked for, write those that survived and how many died of each module."""
    asked, tried, died = asked_by(words), Counter[str](), Counter[str]()
    sys.dont_write_bytecode = True
    for name in HEAVY:
        import_module(name)
    with TemporaryDirectory() as name:
        copied = copied_to(Path(name))
        for change, reach in asked_for(asked):
            home = home_of(change.path)
            if not tried[home] and not _pass(copied, reach.tests(change)):
                raise SystemExit(f"{home}: its tests fail without any change")
            start = monotonic()
            left = survives(copied, change, reach.tests(change), asked.also)
            tried[home] += 1
            died[home] += not left
            if left:
                sys.stdout.write(" | ".join((*change.key, f"line {change.line}")) + "\n")
            sys.stdout.flush()
            became = "SURVIVED" if left else "died"
            took = f"{monotonic() - start:.0f} s"
            sys.stderr.write(f"{change.path}:{change.line} {became} {took}\n")
    for home, number in tried.items():
        sys.stderr.write(f"{home}: {died[home]} of {number} died\n")
    return 1 if died.total() < tried.total() else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

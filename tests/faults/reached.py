"""Which lines each test reaches: `pytest -p tests.faults.reached --reached FILE --of FOLDER`.

What is told is a JSON object of two: `lines`, of each file the lines with the tests that reach
them, and `seconds`, of each test. Lines that run while a file is imported belong to no test.
"""

from __future__ import annotations

import json
import sys
from collections import Counter, defaultdict
from collections.abc import Generator
from inspect import CO_OPTIMIZED
from pathlib import Path
from time import perf_counter
from types import CodeType, FrameType
from typing import Any

import pytest

HERE = Path.cwd()
CALLS = 4
"""So many calls of a function are followed line by line in each test; all of them take long."""
OF: list[str] = []
ABOUT: dict[CodeType, str] = {}
LINES: dict[str, dict[int, set[str]]] = defaultdict(lambda: defaultdict(set))
SECONDS: dict[str, float] = {}


def pytest_addoption(parser: pytest.Parser) -> None:
    """Ask for the file to write, and of what."""
    parser.addoption("--reached", help="the file to write")
    parser.addoption("--of", help="the folder whose lines are followed")


def pytest_configure(config: pytest.Config) -> None:
    """Keep whose lines are followed."""
    OF.append(str(HERE / config.getoption("--of")))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Generator[None, object, object]:
    """Follow one test with what is set up for it."""
    reached: set[tuple[str, int]] = set()
    start = perf_counter()
    sys.settrace(_follow(reached))
    try:
        return (yield)
    finally:
        sys.settrace(None)
        SECONDS[item.nodeid] = perf_counter() - start
        for path, line in reached:
            LINES[path][line].add(item.nodeid)


def _follow(reached: set[tuple[str, int]]) -> Any:
    calls = Counter[CodeType]()

    def each(frame: FrameType, event: str, _given: object) -> Any:
        if event == "line":
            reached.add((ABOUT[frame.f_code], frame.f_lineno))
        return each

    def called(frame: FrameType, _event: str, _given: object) -> Any:
        code = frame.f_code
        if code not in ABOUT:
            own = code.co_filename.startswith(OF[0]) and bool(code.co_flags & CO_OPTIMIZED)
            ABOUT[code] = code.co_filename[len(str(HERE)) + 1 :] if own else ""
        calls[code] += 1
        if not ABOUT[code] or calls[code] > CALLS:
            return None
        reached.add((ABOUT[code], code.co_firstlineno))
        return each

    return called


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write what was reached."""
    lines = {
        path: {line: sorted(tests) for line, tests in of_file.items()}
        for path, of_file in LINES.items()
    }
    told = {"lines": lines, "seconds": SECONDS}
    Path(session.config.getoption("--reached")).write_text(json.dumps(told), encoding="utf-8")

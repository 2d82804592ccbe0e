"""The plain booth at a real terminal and between pipes: what shows, what is loaded, how it ends."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
from pathlib import Path
from subprocess import PIPE

import pytest

from panel.store.engine import Store
from tests.booth.test_imports import HEAVY, KEY_READERS
from tests.houses.at_the_booth import NAME, PINS, kept_scores

ROOT = Path(__file__).parents[2]
PATIENCE_S = 30.0
AT_A_TERMINAL = """
import fcntl, sys, termios
fcntl.ioctl(0, termios.TIOCSCTTY, 0)
from panel.cli.main import run
run(["--db", sys.argv[1], "booth", "--plain", sys.argv[2]])
"""
BETWEEN_PIPES = """
import atexit, json, sys
atexit.register(lambda: sys.stderr.write(json.dumps(sorted(sys.modules))))
from panel.cli.main import run
run(["--db", sys.argv[1], "booth", "--plain"])
"""


def started(
    program: str, store: Store, *, stdin: int = PIPE, stdout: int = PIPE, stderr: int = PIPE
) -> subprocess.Popen[bytes]:
    words = [sys.executable, "-c", program, str(store.url.database), NAME]
    return subprocess.Popen(
        words, cwd=ROOT, start_new_session=True, stdin=stdin, stdout=stdout, stderr=stderr
    )


class Screen:
    """The far end of a terminal: all that stood on it."""

    def __init__(self, end: int) -> None:
        self.end, self.shown = end, b""

    def until(self, words: str) -> None:
        """Read until something new stands there."""
        begun = len(self.shown)
        while words.encode() not in self.shown[begun:]:
            ready, _, _ = select.select([self.end], [], [], PATIENCE_S)
            assert ready, self.shown
            self.shown += os.read(self.end, 4096)

    def type(self, text: str) -> None:
        os.write(self.end, text.encode())


def test_at_a_terminal_no_pin_shows_nothing_is_redrawn_and_ctrl_c_loses_nothing(
    evening: Store,
) -> None:
    near, far = os.openpty()
    booth = started(AT_A_TERMINAL, evening, stdin=far, stdout=far, stderr=far)
    os.close(far)
    screen = Screen(near)
    screen.until("Your code")
    screen.type("A1\n")
    screen.until("Your PIN")
    screen.type(f"{PINS['A1']}\n")
    screen.until("Type the three digits")
    screen.type("538\n")
    screen.until("Line 1 of 10")
    screen.type("62\n")
    screen.until("Line 2 of 10")
    screen.type("1\x03")
    screen.until("at the same glass.")
    assert booth.wait(PATIENCE_S) == 0
    os.close(near)
    assert b"A1" in screen.shown
    assert PINS["A1"].encode() not in screen.shown
    assert b"\x1b" not in screen.shown
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 62}


@pytest.mark.slow
def test_between_pipes_it_loads_nothing_that_reads_the_key(evening: Store) -> None:
    answers = f"A1\n{PINS['A1']}\n538\n62\nm\n1\nt\ntar\n?\np\ny\nq\n"
    with started(BETWEEN_PIPES, evening) as booth:
        said, loaded = booth.communicate(answers.encode(), PATIENCE_S)
    assert booth.returncode == 0
    assert b"538 is put down, with everything kept.\n" in said
    modules = set(json.loads(loaded))
    assert "panel.store.booth_queries" in modules
    assert KEY_READERS.isdisjoint(modules)
    assert HEAVY.isdisjoint(modules)
    assert not any(name.startswith("panel.booth.app") for name in modules)


@pytest.mark.slow
def test_a_half_typed_answer_counts_for_nothing_where_the_line_breaks(evening: Store) -> None:
    with started(BETWEEN_PIPES, evening) as booth:
        said, _ = booth.communicate(f"A1\n{PINS['A1']}\n538\n41\n6".encode(), PATIENCE_S)
    assert booth.returncode == 0
    assert said.endswith(b"you are at the same glass.\n")
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 41}


@pytest.mark.slow
def test_a_listener_that_went_away_ends_the_booth_quietly(evening: Store) -> None:
    heard, mouth = os.pipe()
    os.close(heard)
    with started(BETWEEN_PIPES, evening, stdout=mouth) as booth:
        os.close(mouth)
        _, errors = booth.communicate(b"", PATIENCE_S)
    assert b"Traceback" not in errors
    assert b"BrokenPipe" not in errors
    assert booth.returncode == 0


def test_without_an_input_it_says_so(evening: Store) -> None:
    words = ["sh", "-c", '"$0" -c "$1" "$2" "$3" <&-', sys.executable, BETWEEN_PIPES]
    asked = [*words, str(evening.url.database), NAME]
    ended = subprocess.run(asked, cwd=ROOT, capture_output=True, timeout=60, check=False)
    assert ended.returncode == 1
    assert b"it needs an input and an output" in ended.stderr
    assert b"fault of ours" not in ended.stderr

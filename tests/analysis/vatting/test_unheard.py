"""What the solver writes of its own to standard output does not stand in an answer."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

WRITES = """
import ctypes, os, sys
from concurrent.futures import ThreadPoolExecutor
from analysis.vatting.unheard import unheard

c = ctypes.CDLL(None)

def solve(line):
    with unheard():
        c.puts(line)
        os.write(1, line)

print("before")
{solving}
print("after", flush=True)
c.puts(b"by others")
"""
ONE = 'solve(b"heard")'
MANY = "with ThreadPoolExecutor(4) as at_once: list(at_once.map(solve, 50 * [b'heard']))"


@pytest.mark.skipif(os.name != "posix", reason="the C library is found by another name")
@pytest.mark.parametrize("solving", [ONE, MANY], ids=["one", "many"])
def test_what_is_written_below_python_stays_unheard(solving: str) -> None:
    script = [sys.executable, "-c", WRITES.format(solving=solving)]
    found = subprocess.run(script, capture_output=True, text=True, check=True)
    assert found.stdout.split("\n") == ["before", "after", "by others", ""]


def test_without_an_output_it_solves_as_well() -> None:
    script = "import os; os.close(1)\nfrom analysis.vatting.unheard import unheard\n"
    script += "with unheard(): os.write(2, b'solved')"
    found = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert found.stderr == b"solved"

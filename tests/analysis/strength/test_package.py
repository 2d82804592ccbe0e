"""The public names, the examples in the docstrings, and how light the package is."""

from __future__ import annotations

import doctest
import subprocess
import sys
from importlib import import_module

import pytest

import analysis.strength

MODULES = (
    "convert",
    "density",
    "gauge",
    "losses",
    "nosing",
    "reduction",
    "regauge",
    "mixing",
)


@pytest.mark.parametrize("name", MODULES)
def test_examples_hold(name: str) -> None:
    result = doctest.testmod(import_module(f"analysis.strength.{name}"))
    assert result.attempted > 0
    assert result.failed == 0


def test_public_names_are_complete() -> None:
    assert len(set(analysis.strength.__all__)) == len(analysis.strength.__all__)
    for name in analysis.strength.__all__:
        value = getattr(analysis.strength, name)
        assert isinstance(value, float) or value.__doc__


def test_no_heavy_import() -> None:
    code = (
        "import sys, analysis.strength;"
        "print([m for m in ('numpy', 'pandas', 'scipy') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"

"""The examples in the docstrings run, under the name by which an installed Oakpanel has them."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
from importlib.util import find_spec
from pathlib import Path

import pytest

import oakpanel

MODULES = sorted(
    module.name
    for module in pkgutil.walk_packages(oakpanel.analysis.__path__, "oakpanel.analysis.")
)
WITH_EXAMPLES = [
    name
    for name in MODULES
    if (spec := find_spec(name)) and ">>>" in Path(str(spec.origin)).read_text("utf-8")
]


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_run(name: str) -> None:
    result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0


def test_there_are_examples() -> None:
    finder = doctest.DocTestFinder()
    found = [
        test
        for name in MODULES
        for test in finder.find(importlib.import_module(name))
        if test.examples
    ]
    assert len(found) > 15

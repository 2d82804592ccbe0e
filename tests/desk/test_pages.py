"""Pages that are opened by name: the name leads to a page, and the page is given what it takes."""

from __future__ import annotations

import ast
import inspect
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from textual.screen import Screen

import panel.desk
from panel.desk.homes import HOMES, PAGES

DESK = Path(panel.desk.__file__).parent


def opened() -> Iterator[tuple[str, int, str, int]]:
    """Give file and line of every opening by name, the name, and how much the page is given."""
    for file in sorted(DESK.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "page_of":
                yield file.name, node.lineno, ast.literal_eval(node.args[0]), len(node.args) - 1


@pytest.mark.parametrize("name", [*PAGES, *HOMES])
def test_a_name_leads_to_a_page(name: str) -> None:
    module, kind = {**PAGES, **HOMES}[name]
    assert issubclass(getattr(import_module(module), kind), Screen)


@pytest.mark.slow
def test_every_page_that_is_opened_is_given_what_it_takes() -> None:
    wrong = []
    for file, line, name, count in opened():
        module, kind = PAGES[name]
        try:
            inspect.signature(getattr(import_module(module), kind)).bind(*range(count))
        except TypeError as error:
            wrong.append(f"{file}:{line} {name}: {error}")
    assert wrong == []


def test_no_page_is_named_that_nobody_opens() -> None:
    assert {name for _, _, name, _ in opened()} == set(PAGES)

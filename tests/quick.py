"""What a house does once in hours and tests would do thousands of times: it is done once for all.

A house has one engine and one screen. Each engine of a test would put every question into SQL
anew, each screen read every style sheet; here all of them read what the first one made. No test
pulls the plug of a disk, so that nothing waits until a file lies on it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from os import environ
from types import ModuleType
from typing import Any

import pytest
from sqlalchemy import Engine
from sqlalchemy.orm import Mapper
from sqlalchemy.util import LRUCache
from textual.css.model import RuleSet
from textual.css.stylesheet import Stylesheet

AtConnect = Callable[[Any, object], None]
MOST_QUESTIONS = 5_000


def quick_processes() -> None:
    """Let this process and those that tests start reckon in one thread, and compile a module once.

    As many tests run as there are cores: threads of linear algebra would only wait for one
    another. Python may be told to keep nothing that it compiled; then each process that a test
    starts would compile the program anew, so here it keeps it, as it does in every house.
    """
    if "numpy" in sys.modules:
        raise RuntimeError("numpy has its threads already: this comes too late")
    environ.update({"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"})
    environ.pop("PYTHONDONTWRITEBYTECODE", None)
    sys.dont_write_bytecode = False


class Questions(LRUCache[Any, Any]):
    """Questions put into SQL, by the kind of database and not by the engine that asked first."""

    def get(self, key: Any, default: Any = None) -> Any:
        return super().get(_of_any_engine(key), default)

    def __setitem__(self, key: Any, value: Any) -> None:
        super().__setitem__(_of_any_engine(key), value)


def _of_any_engine(key: tuple[Any, ...]) -> tuple[Any, ...]:
    return (key[0].name, *key[1:])


def quick_sqlite(patch: pytest.MonkeyPatch, engine: ModuleType) -> AtConnect:
    """Let engines share their questions and wait for no disk; return what a house does."""
    questions, make = Questions(MOST_QUESTIONS), engine._sqlite_engine
    prepare: AtConnect = engine._prepare_sqlite

    def made(*given: Any, **options: Any) -> Engine:
        one: Engine = make(*given, **options)
        one._compiled_cache = questions
        return one

    def prepared(connection: Any, record: object) -> None:
        prepare(connection, record)
        connection.execute("PRAGMA synchronous=OFF")

    patch.setattr(engine, "_sqlite_engine", made)
    patch.setattr(Mapper, "_compiled_cache", property(lambda _mapper: questions))
    patch.setattr(engine, "_prepare_sqlite", prepared)
    return prepare


def quick_screens(patch: pytest.MonkeyPatch) -> None:
    """Let screens share the rules of a style sheet, read once for each palette."""
    rules: dict[tuple[Any, ...], list[RuleSet]] = {}
    read = Stylesheet._parse_rules

    def read_once(sheet: Stylesheet, *given: Any, **options: Any) -> list[RuleSet]:
        key = (*sorted(sheet._variables.items()), *given, *sorted(options.items()))
        if key not in rules:
            rules[key] = read(sheet, *given, **options)
        return rules[key]

    patch.setattr(Stylesheet, "_parse_rules", read_once)

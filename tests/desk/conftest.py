"""A small house and a driver for the desk."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pandas as pd
import pytest

import analysis.agreement
from panel.clock import Clock
from panel.desk.app import DeskApp
from panel.store.engine import Store
from tests.desk.driving import signed_in
from tests.houses.at_the_desk import build

JUDGED: dict[tuple[str, ...], Any] = {}


@pytest.fixture(autouse=True)
def judged_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Judge the same scores once: the same evening is drawn in two sizes."""
    for name in ("assess_agreement", "assess_span"):
        monkeypatch.setattr(analysis.agreement, name, _once(name))


def _once(name: str) -> Callable[..., Any]:
    judge = getattr(analysis.agreement, name)

    def judged(*given: Any, **options: Any) -> Any:
        told = {key: value for key, value in options.items() if key != "progress"}
        key = (name, *map(_content, given), *(f"{k}={_content(v)}" for k, v in told.items()))
        if key not in JUDGED:
            JUDGED[key] = judge(*given, **options)
        return JUDGED[key]

    return judged


def _content(value: object) -> str:
    return value.to_csv() if isinstance(value, pd.DataFrame) else repr(value)


@pytest.fixture
def house(store: Store) -> Store:
    """Give a database with a few records."""
    build(store)
    return store


@pytest.fixture
def desk(house: Store, clock: Clock) -> DeskApp:
    """Give a desk over the small house, where LD leads."""
    return signed_in(DeskApp(house, by="LD", clock=clock))


@pytest.fixture(autouse=True)
def begin_with_kept(kept_before: None) -> None:
    """Let every house begin with what was reckoned before in houses like it."""

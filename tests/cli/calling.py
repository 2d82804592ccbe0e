"""Call `oakpanel` as a shell does, and keep what it said."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import pytest

from panel.cli.main import run
from panel.cli.schemas import ANSWERED
from panel.store.engine import Store
from tests.houses.pins import by_file
from tests.promises.schema import check_schema


@dataclass(frozen=True)
class Said:
    """Exit code and both streams of one call."""

    code: int
    out: str
    err: str

    @property
    def document(self) -> Any:
        """The one JSON document on stdout."""
        return json.loads(self.out)


Call = Callable[..., Said]


def asked_of(words: Sequence[str]) -> str:
    """Return which command some words ask: its name of two words, else of one."""
    two = (f"{first} {second}" for first, second in pairwise(words))
    return next(name for name in (*two, *words) if name in ANSWERED)


def caller(
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    *always: str,
    house: Store | None = None,
) -> Call:
    """Return a function that calls `oakpanel` with *always* before its own words.

    With a *house* its people have the PIN of the tests, and whoever acts proves by it.
    """

    def call(*words: str, typed: str = "") -> Said:
        monkeypatch.setattr("sys.stdin", io.StringIO(typed))
        with pytest.raises(SystemExit) as left:
            run([*(() if house is None else by_file(house)), *always, *words])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        said = Said(int(left.value.code or 0), out, err)
        if "--json" in words and out:
            check_schema(asked_of((*always, *words)), said.document)
        return said

    return call

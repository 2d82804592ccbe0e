"""Call `oakpanel` as a shell does, and keep what it said."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from panel.cli.main import run
from panel.store.engine import Store
from tests.houses.pins import by_file


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
        return Said(int(left.value.code or 0), out, err)

    return call

"""What stands beside an evening: the sessions before it, which of them, and what is fitted."""

from __future__ import annotations

from typing import Any, cast

import pandas as pd
import pytest

from analysis.agreement.one_session import history
from analysis.agreement.one_session.around import beside_of
from analysis.agreement.one_session.history import (
    Wanted,
    earlier_scores,
    history_of,
    last_sessions,
)
from tests.analysis.agreement.sessions.test_parts_by_hand import SETTINGS, rows_of

EARLIER = pd.concat(
    [
        rows_of(("S0", "A", "x", "smoke", 1.0), ("S0", "A", "x", "wax", 1.0), held_on="2026-01-01"),
        rows_of(("S1", "A", "x", "smoke", 2.0), held_on="2026-02-01"),
        rows_of(("S2", "A", "y", "smoke", 3.0), held_on="2026-02-01"),
        rows_of(("S3", "A", "z", "smoke", 4.0)),
    ]
)


def test_the_last_sessions_before_one() -> None:
    assert last_sessions(EARLIER, 3) == ["S2", "S1", "S0"], "one without a day comes last"
    assert last_sessions(EARLIER, 9)[-1] == "S3"
    assert last_sessions(EARLIER.iloc[:0], 3) == []
    assert set(earlier_scores(EARLIER, "S1")["session"]) == {"S0", "S2", "S3"}
    assert earlier_scores(None, "S1").empty
    assert earlier_scores(EARLIER.iloc[:0], "S1").empty


def test_what_stands_beside_a_session_by_note() -> None:
    served = EARLIER.assign(position=1)
    found = beside_of(served, ["S2", "S0"], coded=True, n_hidden=3)
    assert [sorted(part) for part in found.past] == [["smoke"], ["smoke", "wax"]]
    assert found.past[0]["smoke"]["score"].tolist() == [3.0]
    assert len(found.year["smoke"]) == 4
    assert (found.coded, found.n_hidden) == (True, 3)
    none = beside_of(served, [], coded=False, n_hidden=2)
    assert (none.past, none.year, none.coded, none.n_hidden) == ([], {}, False, 2)


def test_an_evening_is_fitted_with_all_sessions_and_with_the_last(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[list[str]] = []

    def read(rows: pd.DataFrame, **told: Any) -> Any:
        asked.append([f"{r.session} {r.assessor} {r.sample}" for r in rows.itertuples()])
        return {"fit": len(rows), **told}

    monkeypatch.setattr(history, "read_model", read)
    tonight = rows_of(("T", "B", "q", "smoke", 5.0), ("T", "A", "q", "smoke", 6.0))
    wanted = Wanted(["S2"], [("A", "smoke"), ("A", "wax")], coded=True)
    found = history_of(tonight, EARLIER, wanted, SETTINGS, 7)
    assert asked[0] == ["T B T q", "T A T q", "S0 A x", "S1 A x", "S2 A y", "S3 A z"]
    assert asked[1] == ["T B T q", "S2 A y"], "what was exchanged tonight is no habit"
    assert cast(Any, found.house) == {
        "fit": 6,
        "settings": SETTINGS,
        "panel": ["A", "B"],
        "seed": 7,
    }
    assert cast(Any, found.lately)["fit"] == 2
    every = Wanted(["S0", "S1", "S2", "S3"], [], coded=False)
    once = history_of(tonight, EARLIER, every, SETTINGS, 7)
    assert once.lately is once.house
    assert asked[-1][0] == "T B q", "names that are no codes stay"
    other = history_of(tonight.assign(descriptor="peel"), EARLIER, wanted, SETTINGS, 7)
    assert (other.house, other.lately) == ({}, {})

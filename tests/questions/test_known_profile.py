"""The profile that a screen keeps while the records stay as they are."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pandas as pd
import pytest

from analysis.profile import Profile
from panel.questions import profile
from panel.questions.known_profile import KnownProfile
from panel.store.engine import Store
from panel.store.log import append_entry

DAY = date(2026, 3, 1)


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Profile | None]:
    """What every reckoning was told to start from."""
    starts: list[Profile | None] = []

    def reckon(_: object, *, as_of: date, start: Profile | None = None) -> Profile:
        starts.append(start)
        return Profile(pd.DataFrame(), (), (), as_of, 200, {})

    monkeypatch.setattr("panel.questions.profile.house_profile", reckon)
    return starts


def write_something(store: Store) -> None:
    with store.write() as db:
        at = datetime(2026, 3, 1, tzinfo=UTC)
        append_entry(db, at=at, by="Heron", action="something", details={})


def test_it_is_reckoned_once_for_the_same_records(
    store: Store, asked: list[Profile | None]
) -> None:
    known = KnownProfile()
    with store.read() as db:
        first = known.of(db, as_of=DAY)
        assert known.of(db, as_of=DAY) is first
        assert known.of(db, as_of=date(2026, 3, 2)) is not first
    assert len(asked) == 2


def test_any_change_of_the_records_asks_anew(store: Store, asked: list[Profile | None]) -> None:
    known = KnownProfile()
    with store.read() as db:
        first = known.of(db, as_of=DAY)
    write_something(store)
    with store.read() as db:
        assert known.of(db, as_of=DAY) is not first
    assert asked == [None, None]


def test_a_large_house_starts_from_the_last_one(
    store: Store, asked: list[Profile | None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(profile, "WORTH_A_START", 200)
    known = KnownProfile()
    with store.read() as db:
        first = known.of(db, as_of=DAY)
    write_something(store)
    with store.read() as db:
        known.of(db, as_of=DAY)
    assert asked == [None, first]

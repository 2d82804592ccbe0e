"""What the stock is on a day is reckoned once in a session for reading."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest

from panel.store import filling_states as states
from panel.store.ages import Inherited, Origin, inheritance
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from tests.houses.parts import add_filling, add_make, add_regauge

DAY, EARLIER = date(2020, 5, 1), date(2018, 5, 1)


@pytest.fixture
def two_casks(store: Store) -> Store:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
        add_filling(db, "0102", None, filled_on=date(2016, 5, 1))
    return store


def test_once_for_each_day_and_release(two_casks: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    reckoned: list[int] = []

    def counted(origins: Mapping[int, Origin]) -> dict[int, Inherited]:
        reckoned.append(len(origins))
        return inheritance(origins)

    monkeypatch.setattr(states, "inheritance", counted)
    with two_casks.read() as db:
        first = filling_states(db, DAY)
        assert filling_states(db, DAY) == first
        assert [s.cask for s in filling_states(db, DAY, only_casks=["0102"])] == ["0102"]
        assert len(reckoned) == 1
        filling_states(db, EARLIER)
        filling_states(db, DAY, besides_release="Lantern")
        assert len(reckoned) == 3
    with two_casks.read() as db:
        assert filling_states(db, DAY) == first
    assert len(reckoned) == 4


def test_what_is_written_meanwhile_is_read(two_casks: Store) -> None:
    """A session that writes reads anew each time."""
    with two_casks.write() as db:
        first = filling_states(db, DAY)[0]
        filling = db.get_one(Filling, first.filling_id)
        add_regauge(db, filling, DAY, 150.0, 59.0)
        db.flush()
        assert filling_states(db, DAY)[0].bulk_l != first.bulk_l

"""The frames of a large stock are read from what is kept, and are what the records give."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from panel import frames
from panel.frames import draws
from panel.kept import stock
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.kept_files import place_of
from panel.store.opening import open_store
from tests.houses.invented import invented_house

DAY = date(2026, 11, 20)
LATER = date(2027, 3, 1)


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setattr(stock, "WORTH_KEEPING", 100)
    opened = open_store(invented_house(tmp_path))
    yield opened
    opened.close()


Frame = Callable[..., pd.DataFrame]
PAIRS: list[tuple[Frame, Frame, dict[str, Any]]] = [
    (stock.draws_frame, draws.draws_frame, {}),
    (stock.present_frame, draws.present_frame, {"on": LATER}),
    (stock.stock_frame, frames.stock_frame, {"on": LATER}),
    (stock.stock_frame, frames.stock_frame, {"on": DAY}),
]


def test_they_come_back_as_the_records_give_them_until_a_hold_is_written(house: Store) -> None:
    with house.read() as db:
        first = [kept(db, DAY, **more) for kept, _, more in PAIRS]
        again = [kept(db, DAY, **more) for kept, _, more in PAIRS]
        for made, read, (_, frame, more) in zip(first, again, PAIRS, strict=True):
            pd.testing.assert_frame_equal(made, read)
            pd.testing.assert_frame_equal(read, frame(db, DAY, **more))
    assert len([each for each in place_of(house.url).files() if "-stock-" in each.name]) == 4
    with house.write() as db:
        held = db.query(Filling).filter(Filling.label == first[2]["filling"].iloc[0]).one()
        held.hold_reason = "a second look"
    with house.read() as db:
        now = stock.stock_frame(db, DAY, on=LATER)
    assert now["hold_reason"].iloc[0] == "a second look"


@pytest.mark.slow
def test_a_small_stock_is_read_from_the_records(
    house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stock, "WORTH_KEEPING", 1_000)
    with house.read() as db:
        stock.stock_frame(db, DAY)
    assert place_of(house.url).files() == []

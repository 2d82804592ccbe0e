"""Draws and fillings with what is known of them."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from panel.frames.draws import DRAW_COLUMNS, draws_frame, present_frame
from panel.kinds import EventKind
from panel.store.casks import FillingEvent
from panel.store.engine import Store
from tests.houses.parts import add_draw, add_event, add_filling, add_make

AS_OF = date(2022, 5, 1)


@pytest.fixture
def filled(store: Store) -> Store:
    """Three casks: one that moved, one emptied, one re-racked from the first."""
    with store.write() as db:
        make = add_make(db, "Mid", 12.0)
        moved = add_filling(db, "A", make)
        emptied = add_filling(db, "B", make)
        racked = add_filling(db, "C", None, filled_on=date(2020, 5, 1), wood="butt")
        db.flush()
        add_draw(db, "A-1", moved, drawn_on=date(2016, 5, 1))
        add_draw(db, "A-2", moved, drawn_on=date(2021, 5, 1))
        add_draw(db, "B-1", emptied, drawn_on=date(2018, 5, 1))
        add_draw(db, "C-1", racked, drawn_on=date(2021, 11, 1))
        add_draw(db, "late", moved, drawn_on=date(2023, 5, 1))
        db.add(
            FillingEvent(
                filling=moved,
                kind=EventKind.MOVED,
                happened_on=date(2019, 1, 1),
                warehouse="High Store",
            )
        )
        add_event(db, emptied, EventKind.EMPTIED, date(2020, 1, 1))
        db.add(
            FillingEvent(
                filling=racked,
                kind=EventKind.RE_RACKED,
                happened_on=date(2020, 5, 1),
                parent=moved,
                litres=50.0,
            )
        )
    return store


def test_each_draw_has_the_age_and_place_of_its_day(filled: Store) -> None:
    with filled.read() as db:
        frame = draws_frame(db, AS_OF).set_index("sample")
    assert frame["age_years"].loc[["A-1", "A-2", "B-1"]].tolist() == [4.0, 9.0, 6.0]
    assert frame["warehouse"].loc[["A-1", "A-2"]].tolist() == ["Low Store", "High Store"]
    assert frame["batch"].loc["A-1"] == "Mid 2012"
    assert frame["phenol_ppm"].loc["A-1"] == 12.0
    assert "late" not in frame.index


def test_spirit_of_several_woods_carries_the_years_before(filled: Store) -> None:
    with filled.read() as db:
        row = draws_frame(db, AS_OF).set_index("sample").loc["C-1"]
    assert row["years_before"] == 8.0
    assert row["age_years"] == pytest.approx(9.5, abs=0.01)
    assert pd.isna(row["make"])


def test_only_what_lies_in_a_cask_is_present(filled: Store) -> None:
    with filled.read() as db:
        frame = present_frame(db, AS_OF)
    assert tuple(frame.columns) == DRAW_COLUMNS
    assert frame["cask"].tolist() == ["A", "C"]
    assert frame["sample"].tolist() == frame["filling"].tolist()
    assert frame["age_years"].iloc[0] == 10.0


def test_an_empty_house_has_empty_frames(store: Store) -> None:
    with store.read() as db:
        assert list(draws_frame(db, AS_OF).columns) == list(DRAW_COLUMNS)
        assert present_frame(db, AS_OF).empty

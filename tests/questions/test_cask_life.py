"""A cask's life on one page."""

from __future__ import annotations

import math
from datetime import date

import pytest
from sqlalchemy import select

from analysis.as_json import as_json
from panel.errors import UnknownRecord
from panel.kinds import EventKind, GaugeMethod
from panel.questions.cask_life import cask_life, cask_lines
from panel.questions.filling_told import filling_told
from panel.store.casks import Cask, Filling
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.words.cask_words import figure_words, use_words
from tests.houses.parts import add_draw, add_event, add_filling, add_make, add_regauge

AS_OF = date(2022, 5, 1)


def test_everything_that_happened_in_order_of_date(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2018, 5, 1), 170.0, 60.2, note="bung swollen")
        add_event(db, filling, EventKind.MOVED, date(2015, 1, 1), warehouse="High Store")
        add_draw(db, "D7", filling, drawn_on=date(2020, 1, 1), volume_ml=700.0)
    with store.read() as db:
        life = cask_life(db, "0101", AS_OF)
    assert [entry.kind for entry in life.entries] == ["filled", "moved", "regauged", "drawn"]
    assert life.entries[2].words == "170 L at 60.2 %, dipped (bung swollen)"
    assert life.today is not None
    assert any("4.0 years old" in flag for flag in life.flags)


def test_a_page_says_what_a_cask_may_be_used_for(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2022, 4, 1), 170.0, 60.2)
    with store.read() as db:
        now = cask_life(db, "0101", AS_OF).today
    assert now is not None
    assert use_words(now) == "Free for every use."
    with store.write() as db:
        add_event(db, db.get_one(Filling, filling.id), EventKind.LEAK_FOUND, date(2022, 4, 2))
    with store.read() as db:
        now = cask_life(db, "0101", AS_OF).today
    assert now is not None
    assert as_json(filling_told(now))["barred_from"] == {
        use: ["leaking"] for use in ("match", "like", "vat", "bottle")
    }
    assert use_words(now) == (
        "Free for nosing; not unasked for the ranking, a target like it, a vat or bottling by "
        "itself."
    )


def test_a_leak_shows_between_its_gauges_once_draws_are_put_back(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2014, 5, 1), 183.0, 62.8)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("2014-05-01 to 2016-05-01" in flag and "leak" in flag for flag in flags)
    with store.write() as db:
        add_draw(
            db, "big", db.get(Filling, filling.id), drawn_on=date(2015, 5, 1), volume_ml=36_000.0
        )
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert not any("look for a leak" in flag for flag in flags)


def test_nobody_looks_for_a_leak_that_was_repaired(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, date(2014, 5, 1), 183.0, 62.8)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
        add_event(db, filling, EventKind.LEAK_FOUND, date(2016, 5, 2))
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("look for a leak" in flag for flag in flags)
    with store.write() as db:
        there = db.get_one(Filling, filling.id)
        add_event(db, there, EventKind.REPAIRED, date(2016, 6, 1))
        add_regauge(db, there, date(2018, 5, 1), 137.0, 61.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert not any("look for a leak" in flag for flag in flags)
    assert any("2014-05-01 to 2016-05-01" in f and "was repaired since" in f for f in flags)
    with store.write() as db:
        add_regauge(db, db.get_one(Filling, filling.id), date(2020, 5, 1), 100.0, 60.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("2018-05-01 to 2020-05-01" in f and "look for a leak" in f for f in flags)


def test_more_taken_than_was_in_it_is_said_not_hidden(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_draw(db, "huge", filling, drawn_on=date(2015, 5, 1), volume_ml=900_000.0)
        add_regauge(db, filling, date(2016, 5, 1), 140.0, 62.0)
    with store.read() as db:
        flags = cask_life(db, "0101", AS_OF).flags
    assert any("do not fit together" in flag for flag in flags)


def test_a_filling_without_make_or_parents_is_flagged(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", None)
    with store.read() as db:
        assert any("origin unknown" in flag for flag in cask_life(db, "0101", AS_OF).flags)


def test_an_unknown_cask_names_the_nearest(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
    with store.read() as db, pytest.raises(UnknownRecord, match=r"'0110'.*0101"):
        cask_life(db, "0110", AS_OF)


def test_the_list_has_empty_casks_too(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
        db.add(Cask(number="[/x]", wood="oak", size_l=50.0))
    with store.read() as db:
        lines = cask_lines(db, AS_OF)
    assert [(line.number, line.state is None) for line in lines] == [
        ("0101", False),
        ("[/x]", True),
    ]


RACKED_ON = date(2020, 5, 1)


def racked(store: Store, filled_l: float, *given: float) -> None:
    """Fill 0200 from 0101, 0102 and so on, each of which held 190 L."""
    with store.write() as db:
        make = add_make(db)
        child = add_filling(
            db, "0200", None, filled_on=RACKED_ON, size_l=500, fill_bulk_l=filled_l, fill_abv=60.0
        )
        for number, litres in enumerate(given, start=1):
            parent = add_filling(db, f"010{number}", make)
            add_event(db, child, EventKind.RE_RACKED, RACKED_ON, parent=parent, litres=litres)


def flags_of(store: Store, number: str) -> tuple[str, ...]:
    with store.read() as db:
        return cask_life(db, number, AS_OF).flags


def test_more_filled_than_its_parents_gave_is_flagged(store: Store) -> None:
    racked(store, 420.0, 180.0, 180.0, 54.0)
    found = [flag for flag in flags_of(store, "0200") if "re-racked into it" in flag]
    assert found == [
        "0200/1 was filled with 420 L, but what was re-racked into it comes to 414 L: one of the "
        "figures is wrong"
    ]


def test_litres_within_the_error_of_a_gauge_are_not_flagged(store: Store) -> None:
    racked(store, 415.0, 180.0, 180.0, 54.0)
    assert not any("figures is wrong" in flag for flag in flags_of(store, "0200"))


def test_more_given_than_was_held_is_flagged_on_both_pages(store: Store) -> None:
    racked(store, 205.0, 205.0)
    said = "0101/1 gave 205 L on 2020-05-01, but held 190 L by its last gauge: one of the figures "
    for number in ("0200", "0101"):
        assert any(flag.startswith(said) for flag in flags_of(store, number))


def lost_house(
    store: Store, *, size_l: float, share_left: float, warehouse: str = "Low", a_year: float = 0.015
) -> None:
    """Gauge a cask two years after its filling, as casks of its size lose, and a year later."""
    wider = (250.0 / size_l) ** (1.0 / 3.0)
    with store.write() as db:
        first = 0.9 * size_l
        filled = first * math.exp(wider * (0.02 + 2.0 * a_year))
        filling = add_filling(
            db, "0300", add_make(db), size_l=size_l, fill_bulk_l=filled, fill_abv=60.6
        )
        filling.warehouse = warehouse
        weighed = GaugeMethod.WEIGHED
        add_regauge(db, filling, date(2014, 5, 1), first, 60.0, method=weighed)
        add_regauge(db, filling, date(2015, 5, 1), first * share_left, 60.0, method=weighed)


def leaks(store: Store) -> bool:
    return any("2014-05-01 to 2015-05-01" in flag for flag in flags_of(store, "0300"))


@pytest.mark.parametrize(
    ("size_l", "share_left", "flagged"),
    [(50, 0.945, False), (250, 0.92, True), (500, 0.93, True), (250, 0.965, False)],
)
def test_a_small_cask_may_lose_more_than_a_large_one(
    store: Store, size_l: float, share_left: float, flagged: bool
) -> None:
    # Geometry: surface over volume goes as 1 / size^(1/3); 2 % a year for 250 L, trade figures.
    lost_house(store, size_l=size_l, share_left=share_left)
    assert leaks(store) is flagged


def test_limits_of_loss_are_the_houses_own(store: Store) -> None:
    lost_house(store, size_l=250, share_left=0.92)
    assert leaks(store)
    with store.write() as db:
        db.add(HouseSetting(name="leak_percent_a_year", value="9"))
    assert leaks(store)  # it is more than a cask of 250 L loses by itself
    with store.write() as db:
        db.add(HouseSetting(name="leak_more_percent_a_year", value="7"))
    assert not leaks(store)


def test_in_a_dry_store_casks_lose_more_and_gain_strength(store: Store) -> None:
    lost_house(store, size_l=250, share_left=0.93, warehouse="South Loft", a_year=0.06)
    with store.write() as db:
        filling = db.scalars(select(Filling)).one()
        add_regauge(db, filling, date(2016, 5, 1), 0.9 * 250 * 0.85, 61.5)
    flags = flags_of(store, "0300")
    assert any("Strength rose by 1.5" in flag for flag in flags)
    with store.write() as db:
        db.add(HouseSetting(name="dry_stores", value="Kiln Loft, south loft"))
    flags = flags_of(store, "0300")
    assert not leaks(store)
    assert not any("Strength rose" in flag for flag in flags)


def test_odd_fillings_of_old_records_are_asked_about_on_the_page(store: Store) -> None:
    with store.write() as db:
        make = add_make(db)
        make.campaign = "2008-2011"
        add_filling(db, "0400", make, fill_abv=95.0)
    flags = " ".join(flags_of(store, "0400"))
    assert "whisky is distilled to less than 94.8 % vol" in flags
    assert "was made in 2008-2011, but filled in 2012" in flags


def test_the_page_says_what_was_lost_and_until_when_it_is_whisky(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0500", add_make(db), fill_bulk_l=200, fill_abv=50.0)
        add_regauge(db, filling, date(2022, 5, 1), 170.0, 45.0)
    with store.read() as db:
        figures = cask_life(db, "0500", AS_OF).figures
    assert figures is not None
    assert figures.ullage_litres == 30.0
    left = (170 * 45) / (200 * 50)
    assert figures.loss_lpa_percent_a_year == pytest.approx(100 * (1 - left**0.1))
    assert figures.weak_from is not None
    assert figures.weak_from.year == 2032


def test_without_a_second_gauge_no_loss_is_told(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0600", add_make(db))
    with store.read() as db:
        figures = cask_life(db, "0600", AS_OF).figures
    assert figures is not None
    assert figures.loss_lpa_percent_a_year is None
    assert figures.loss_reason == "it was not gauged since it was filled"


def test_a_reason_for_no_loss_stands_in_one_sentence(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0700", add_make(db), fill_bulk_l=200, fill_abv=50.0)
        add_draw(db, "All", filling, drawn_on=date(2012, 5, 5), volume_ml=400_000)
        add_regauge(db, filling, date(2012, 5, 10), 190.0, 50.0)
    with store.read() as db:
        figures = cask_life(db, "0700", AS_OF).figures
    assert figures is not None
    assert figures.loss_reason
    assert ".." not in figure_words(figures)

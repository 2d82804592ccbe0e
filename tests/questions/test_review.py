"""What the warehouse asks for: each reason by its record, folded, in order, ticked when seen to."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy.orm import Session

from panel.errors import EntriesAtFault, UnknownRecord
from panel.kinds import (
    DrawKind,
    EventKind,
    GaugeMethod,
    GlassKind,
    ReleaseStatus,
    SessionStatus,
)
from panel.questions.review.matters import Reason
from panel.questions.review.review import Review, ReviewLine, house_review
from panel.questions.review.tick import tick_casks
from panel.questions.stock_part import StockPart, lines_folded
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.store.key import PlannedDraw
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import PanelSession
from panel.words.review_words import action_words, line_words, review_lines
from tests.conftest import FIXED_NOW
from tests.houses.parts import add_event, add_filling, add_make, add_regauge

TODAY = FIXED_NOW.date()
FILLED = TODAY - timedelta(days=9 * 365)


def years_ago(years: float) -> date:
    return TODAY - timedelta(days=round(365.25 * years))


def gauged(db: Session, filling: Filling, *gauges: tuple[float, float, float]) -> None:
    """Weigh a filling: years ago, litres, strength."""
    for ago, litres, abv in gauges:
        add_regauge(db, filling, years_ago(ago), litres, abv, method=GaugeMethod.WEIGHED)


def steady(db: Session, number: str, **values: object) -> Filling:
    """A cask that has lost two percent a year, gauged lately."""
    filling = add_filling(db, number, values.pop("make", None), filled_on=FILLED, **values)  # type: ignore[arg-type]
    gauged(db, filling, (6.0, 176.0, 62.5), (3.0, 167.0, 61.6), (0.5, 160.0, 60.8))
    return filling


def reviewed(store: Store, **part: str) -> Review:
    with store.read() as db:
        return house_review(db, as_of=TODAY, part=StockPart(**part))


def line_of(review: Review, reason: Reason) -> ReviewLine:
    found = [line for one in review.warehouses for line in one.lines if line.reason is reason]
    assert len(found) == 1
    return found[0]


@pytest.fixture
def house(store: Store) -> Store:
    """One cask for each reason in two warehouses, and some that need nobody."""
    with store.write() as db:
        make = add_make(db)
        for number in range(1, 7):
            steady(db, f"01{number:02d}", make=make)
        leaks = steady(db, "0201", make=make)
        add_event(db, leaks, EventKind.LEAK_FOUND, years_ago(0.1))
        loses = add_filling(db, "0202", make, filled_on=FILLED)
        gauged(db, loses, (6.0, 176.0, 62.5), (3.0, 167.0, 61.6), (0.2, 146.0, 60.7))
        gains = add_filling(db, "0203", make, filled_on=FILLED)
        gauged(db, gains, (3.0, 167.0, 61.6), (0.2, 185.0, 61.6))
        over = steady(db, "0204", make=make)
        over.hold_reason, over.hold_until = "nose again", years_ago(0.2)
        steady(db, "0205", make=make)
        add_filling(db, "0206", make, filled_on=FILLED, warehouse="High Store")
        for name in ("0301", "0302", "0303"):
            parcel = steady(db, name, make=make, warehouse="High Store")
            parcel.parcel, parcel.owner = "Spring lot", "Mill Trust"
            parcel.hold_reason, parcel.hold_until = "nose again", years_ago(0.1)
        planned = db.query(Filling).filter_by(label="0205/1").one()
        release = Release(
            name="Autumn",
            status=ReleaseStatus.PROPOSED,
            planned_on=years_ago(0.5),
            proposed_by="BL",
            bottling_on=years_ago(0.1),
        )
        release.parts.append(ReleasePart(filling=planned, litres=20.0))
        draw = Draw(label="D1", kind=DrawKind.CASK, filling=over)
        draft = PanelSession(name="soon", held_on=TODAY, status=SessionStatus.DRAFT)
        db.add_all([release, draw, draft])
        db.flush()
        kind = GlassKind.TEST
        db.add(PlannedDraw(session_id=draft.id, draw_id=draw.id, place=1, glasses=1, kind=kind))
    return store


def test_each_reason_has_its_record_and_one_action(house: Store) -> None:
    review = reviewed(house)
    loses = line_of(review, Reason.LOSES)
    assert loses.casks == ("0202",)
    assert loses.matter.percent_a_year == pytest.approx(5.3, abs=0.5)
    assert loses.matter.own_percent_a_year == pytest.approx(2.2, abs=0.7)
    assert "duty" in action_words(loses)
    assert line_of(review, Reason.LEAKS).casks == ("0201",)
    assert line_of(review, Reason.GAINS).casks == ("0203",)
    assert line_of(review, Reason.NEVER_NOSED).casks == ("0205",)
    promised = [x for one in review.warehouses for x in one.lines if x.reason is Reason.PROMISED]
    assert {(line.cask, line.matter.about) for line in promised} == {
        ("0205", "Autumn"),
        ("0204", "session soon"),
    }
    assert line_of(review, Reason.OLD_GAUGES).casks == ("0206",)
    assert review.n_casks == 15
    assert review.n_needing == 8
    assert review.not_told


def test_on_a_past_day_nothing_hangs_on_a_release_that_was_proposed_later(house: Store) -> None:
    with house.read() as db:
        before = house_review(db, as_of=years_ago(0.6), part=StockPart())
        then = house_review(db, as_of=years_ago(0.5), part=StockPart())
    told = [
        {line.matter.about for one in review.warehouses for line in one.lines}
        for review in (before, then)
    ]
    assert "Autumn" not in told[0]
    assert "Autumn" in told[1]


def test_the_worst_stands_first_and_the_way_is_another_order(house: Store) -> None:
    low = next(one for one in reviewed(house).warehouses if one.warehouse == "Low Store")
    assert [line.reason for line in low.lines[:2]] == [Reason.LEAKS, Reason.LOSES]
    assert [line.cask for line in low.walked] == sorted(line.cask for line in low.lines)


def test_casks_of_a_parcel_that_need_the_same_are_one_line(house: Store) -> None:
    high = next(one for one in reviewed(house).warehouses if one.warehouse == "High Store")
    folded = next(line for line in high.lines if line.reason is Reason.HOLD_OVER)
    assert folded.casks == ("0301", "0302", "0303")
    assert "Spring lot: 3 casks, 0301 first" in line_words(folded)


def test_no_more_lines_than_the_house_reads_and_the_rest_is_counted(house: Store) -> None:
    with house.write() as db:
        db.add(HouseSetting(name="review_lines", value="5"))
        for number in range(1, 9):
            cask = steady(db, f"04{number:02d}")
            cask.hold_reason, cask.hold_until = "nose again", years_ago(0.1)
    low = next(one for one in reviewed(house).warehouses if one.warehouse == "Low Store")
    assert len(low.lines) == 5
    assert low.not_shown > 5
    assert low.lines[0].reason is Reason.LEAKS
    assert any("more, none of them worse" in line for line in review_lines(reviewed(house)))


def test_what_was_seen_to_is_gone_until_a_newer_record_says_it_again(house: Store) -> None:
    with house.write() as db:
        tick_casks(db, ["0202"], note="hoops driven", now=FIXED_NOW, by=None)
    review = reviewed(house)
    assert all(line.cask != "0202" for one in review.warehouses for line in one.lines)
    assert [(each.cask, each.reason, each.note) for each in review.done] == [
        ("0202", Reason.LOSES.value, "hoops driven")
    ]
    with house.write() as db:
        loses = db.query(Filling).filter_by(label="0202/1").one()
        add_regauge(db, loses, TODAY, 138.0, 60.6, method=GaugeMethod.WEIGHED)
    assert line_of(reviewed(house), Reason.LOSES).casks == ("0202",)


def test_where_nothing_is_open_nothing_can_be_ticked(house: Store) -> None:
    with house.write() as db, pytest.raises(EntriesAtFault, match="Nothing of the review"):
        tick_casks(db, ["0101"], now=FIXED_NOW, by=None)


def test_a_part_of_the_stock_is_reviewed_alone(house: Store) -> None:
    review = reviewed(house, owner="mill trust")
    assert review.n_casks == review.n_needing == 3
    assert reviewed(house, owner="the house").n_casks == 12
    with pytest.raises(UnknownRecord, match="Low Store"):
        reviewed(house, warehouse="Low Stor")


def test_casks_are_folded_by_what_they_belong_to(house: Store) -> None:
    from panel.questions.cask_life import cask_lines

    with house.read() as db:
        lines = cask_lines(db, TODAY)
    assert {each.name: each.casks for each in lines_folded(lines, "parcel")} == {
        "Spring lot": 3,
        "": 12,
    }
    store = {each.name: each for each in lines_folded(lines, "warehouse")}
    assert store["High Store"].casks == 4
    assert store["High Store"].litres == pytest.approx(3 * 160.0 + 190.0)
    assert store["High Store"].barred == 3


def test_a_store_that_loses_more_than_is_reckoned_is_one_line(store: Store) -> None:
    with store.write() as db:
        make = add_make(db)
        for number in range(24):
            steady(db, f"05{number:02d}", make=make)
        for number in range(12):
            warm = add_filling(db, f"06{number:02d}", make, filled_on=FILLED, warehouse="Long Shed")
            gauged(db, warm, (6.0, 166.0, 62.6), (3.0, 145.0, 61.8), (0.5, 129.0, 60.9))
    review = reviewed(store)
    line = line_of(review, Reason.STORE_LOSES)
    assert len(line.casks) == 12
    assert "Long Shed loses" in line_words(line)
    assert "a year where" in line_words(line)
    assert "not named yet" in action_words(line)
    assert "dry_stores" in action_words(line)
    assert review.n_needing == 0
    with store.write() as db:
        tick_casks(db, line.casks, reason=Reason.STORE_LOSES, now=FIXED_NOW, by=None)
    assert not reviewed(store).warehouses


def test_after_a_warm_year_no_cask_is_named_but_the_one_that_leaks(store: Store) -> None:
    with store.write() as db:
        make = add_make(db)
        for number in range(20):
            filling = add_filling(db, f"07{number:02d}", make, filled_on=FILLED)
            gauged(db, filling, (6.0, 176.0, 62.5), (1.5, 162.5, 61.1))
            # Nine percent went in a year and a half from each: four is usual.
            leak = 0.93 if number == 3 else 1.0
            gauged(db, filling, (0.1, 150.5 * leak, 60.7))
    line = line_of(reviewed(store), Reason.LOSES)
    assert line.casks == ("0703",)

"""Back from the glass: a remark leads to casks and other lots, and hurts nobody's privacy."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from panel.errors import (
    EntriesAtFault,
    PlanRefused,
    ReleaseError,
    StoreError,
    WrongState,
)
from panel.kinds import BottleKind, DrawKind, RemarkKind
from panel.release.batch import AsBatch
from panel.release.batch_check import check_samples
from panel.release.batch_steps import keep_batch
from panel.release.lot_bottles import (
    _refuse_bottles,
    _refuse_remark,
    bottle_gone,
    close_remark,
    forget_who,
    keep_remark,
    tell_safety,
)
from panel.release.lot_nosing import plan_bottle_nosing
from panel.release.lot_trace import all_remarks, trace_lot, trace_remark
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import LotBottle, RemarkPerson
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.releases import Release
from panel.words.lot_words import lot_lines, next_of_lot
from tests.conftest import FIXED_NOW
from tests.release.lots import BOTTLED, TODAY, bottles, build_lots, remark


@pytest.fixture
def house(store: Store) -> Store:
    build_lots(store)
    return store


def test_a_bottle_leads_to_its_casks_and_to_lots_that_share_spirit(house: Store) -> None:
    with house.read() as db:
        found = trace_lot(db, "L1-1")
    assert [(part.cask, part.share_of_vat_percent) for part in found.parts] == [
        ("0101", 75.0),
        ("0102", 25.0),
    ]
    assert {(other.lot, other.casks) for other in found.other_lots} == {
        ("L2-1", ("0102",)),
        ("L3-1", ("0101",)),
    }
    assert found.parts[0].gauges[0].litres == 190.0
    assert "Keep 2 full bottles" in next_of_lot(found)


def test_what_is_not_bottled_has_no_bottle_to_speak_of(house: Store) -> None:
    with house.write() as db, pytest.raises(WrongState, match="no bottle of it yet"):
        keep_remark(db, "Later", said="x", now=FIXED_NOW, by="LD")


def test_all_faults_of_a_remark_are_told_at_once_and_nothing_is_kept(house: Store) -> None:
    with pytest.raises(EntriesAtFault) as refused, house.write() as db:
        keep_remark(
            *(db, "L1-1"),
            said=" ",
            reach="somewhere",
            made_on=BOTTLED - timedelta(1),
            now=FIXED_NOW,
            by="LD",
        )
    assert set(refused.value.faults) == {"said", "who", "made_on"}
    with house.read() as db:
        assert all_remarks(db) == []


def test_who_made_a_remark_is_told_only_where_it_is_asked_and_never_logged(house: Store) -> None:
    number = remark(house)
    with house.read() as db:
        plain, asked = trace_remark(db, number), trace_remark(db, number, with_who=True)
        logged = " ".join(filter(None, db.query(LogEntry.body_json).all()[-1]))
    assert plain.remarks[0].who is None
    assert plain.remarks[0].who_is_kept
    assert asked.remarks[0].who == "Ostrow"
    assert "Ferry Lane" not in "\n".join(lot_lines(plain))
    assert "Ostrow" not in logged
    assert "cork" not in logged
    assert json.loads(logged)["lot"] == "L1-1"


def test_closing_a_remark_deletes_who_made_it_and_their_name_in_it(house: Store) -> None:
    number = remark(house)
    with house.write() as db:
        done = close_remark(db, number, outcome="Told Ostrow.", now=FIXED_NOW, by="LD")
    assert done.forgotten
    with house.read() as db:
        told = all_remarks(db)[0]
        assert db.query(RemarkPerson).count() == 0
        (logged,) = db.query(LogEntry.body_json).all()[-1]
    assert json.loads(logged or "").items() >= {"remark": number, "forgotten": True}.items()
    assert told.said == "somebody says that it smells of cork."
    assert told.outcome == "Told somebody."
    with house.write() as db:
        assert not forget_who(db, number, now=FIXED_NOW, by="LD").forgotten


def test_what_concerns_safety_is_traced_not_nosed_and_told_before_it_is_closed(
    house: Store,
) -> None:
    number = remark(house, RemarkKind.FOREIGN_BODY)
    bottles(house, BottleKind.RETAINED, 2)
    bottles(house, BottleKind.UNOPENED)
    with house.read() as db:
        assert next_of_lot(trace_lot(db, "L1-1")).startswith("Trace only. Tell whoever")
    with pytest.raises(PlanRefused, match="nobody noses it"), house.write() as db:
        plan_bottle_nosing(db, "L1-1", "cork", now=FIXED_NOW, by="LD")
    with pytest.raises(EntriesAtFault, match="told first"), house.write() as db:
        close_remark(db, number, outcome="glass found", now=FIXED_NOW, by="LD")
    with house.write() as db:
        tell_safety(db, number, now=FIXED_NOW, by="LD")
        close_remark(db, number, outcome="glass found", now=FIXED_NOW, by="LD")


def test_what_concerns_safety_is_followed_by_no_batch_and_checked_beside_none(
    house: Store,
) -> None:
    """From a batch already proposed, whichever of the two lots it is, until a person closes it."""
    with house.write() as db:
        rows = {each.name: each for each in db.query(Release)}
        later, spring = rows["Later"].id, rows["Spring"].id
        db.add(ReleaseBatch(release_id=later, before_id=spring, within_points=10.0))
    number = remark(house, RemarkKind.ILLNESS)
    with pytest.raises(ReleaseError, match="bottles safety 1"), house.read() as db:
        check_samples(db, "Later", on=FIXED_NOW.date())
    with pytest.raises(ReleaseError, match="No batch is made like"), house.write() as db:
        keep_batch(db, "Later", AsBatch("L1-1"))
    with house.write() as db:
        tell_safety(db, number, now=FIXED_NOW, by="LD")
    with pytest.raises(ReleaseError, match="bottles close 1"), house.write() as db:
        keep_batch(db, "Later", AsBatch("L1-1"))
    with house.write() as db:
        close_remark(db, number, outcome="nothing found", now=FIXED_NOW, by="LD")
    with pytest.raises(ReleaseError, match="no bench blend of Later"), house.read() as db:
        check_samples(db, "Later", on=FIXED_NOW.date())


def test_a_retained_bottle_is_planned_blind_beside_an_unopened_one(house: Store) -> None:
    number = remark(house)
    bottles(house, BottleKind.RETAINED, 2)
    bottles(house, BottleKind.OPENED, of=number)
    with pytest.raises(PlanRefused, match="no unopened bottle"), house.write() as db:
        plan_bottle_nosing(db, "L1-1", "cork", now=FIXED_NOW, by="LD")
    bottles(house, BottleKind.UNOPENED)
    with house.write() as db:
        done = plan_bottle_nosing(db, "L1-1", "cork", now=FIXED_NOW, by="LD")
    assert (done.retained, done.unopened) == (1, 4)
    with house.read() as db:
        found = trace_lot(db, "L1-1")
        draws = {draw.label: draw.abv for draw in db.query(Draw)}
    assert draws == {"L1-1-B1": 46.0, "L1-1-B4": 46.0}
    assert found.retained_here == 1
    assert {each.bottle for each in found.kept if each.sample} == {1, 4}


def test_an_opened_bottle_is_never_poured_not_even_by_a_hand_in_the_records(house: Store) -> None:
    number = remark(house)
    bottles(house, BottleKind.OPENED, of=number)
    with house.read() as db:
        assert next_of_lot(trace_lot(db, "L1-1")).startswith("Send the opened bottle")
    with pytest.raises(StoreError, match="opened_not_poured"):
        pour(house)


def pour(house: Store) -> None:
    """Give the only bottle a sample, past the program."""
    with house.write() as db:
        db.query(LotBottle).one().draw = Draw(label="x", kind=DrawKind.MARKET)


def test_a_bottle_that_left_its_place_is_gone_once(house: Store) -> None:
    bottles(house, BottleKind.RETAINED)
    with house.write() as db:
        bottle_gone(db, 1, gone_to="laboratory", now=FIXED_NOW, by="LD")
    with pytest.raises(EntriesAtFault, match="gone since"), house.write() as db:
        bottle_gone(db, 1, gone_to="laboratory", now=FIXED_NOW, by="LD")
    with house.read() as db:
        assert trace_lot(db, "Spring").retained_here == 0


def faults(act: Callable[[], None]) -> list[str]:
    """The entries that were refused."""
    try:
        act()
    except EntriesAtFault as refused:
        return sorted(refused.faults)
    return []


LOT: Any = SimpleNamespace(id=1, name="Spring", bottled_on=date(2026, 3, 1))


@pytest.mark.parametrize(
    ("said", "day", "who", "reach", "wrong"),
    [
        ("Cork.", date(2026, 3, 1), None, None, []),
        ("Cork.", TODAY, "Ostrow", "by post", []),
        (" ", TODAY, None, None, ["said"]),
        ("Cork.", date(2026, 2, 28), None, None, ["made_on"]),
        ("Cork.", date(2026, 3, 15), None, None, ["made_on"]),
        ("Cork.", TODAY, " ", "by post", ["who"]),
        ("", date(2026, 3, 15), None, "by post", ["made_on", "said", "who"]),
    ],
)
def test_a_remark_has_words_a_day_and_whom_it_came_from(
    said: str, day: date, who: str | None, reach: str | None, wrong: list[str]
) -> None:
    assert faults(lambda: _refuse_remark(LOT, said, day, TODAY, who=who, reach=reach)) == wrong


@pytest.mark.parametrize(
    ("place", "count", "kind", "about", "wrong"),
    [
        ("shelf", 1, BottleKind.RETAINED, None, []),
        ("shelf", 100, BottleKind.OPENED, 1, []),
        (" ", 1, BottleKind.RETAINED, None, ["place"]),
        ("shelf", 0, BottleKind.RETAINED, None, ["count"]),
        ("shelf", 101, BottleKind.RETAINED, None, ["count"]),
        ("shelf", 1, BottleKind.OPENED, None, ["remark"]),
        ("shelf", 1, BottleKind.OPENED, 2, ["remark"]),
    ],
)
def test_bottles_stand_somewhere_and_an_opened_one_has_a_remark(
    place: str, count: int, kind: BottleKind, about: int | None, wrong: list[str]
) -> None:
    remark: Any = about and SimpleNamespace(id=7, release_id=about, release=LOT)
    assert faults(lambda: _refuse_bottles(LOT, place, count, kind, remark)) == wrong

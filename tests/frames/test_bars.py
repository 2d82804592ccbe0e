"""The facts of the store put to the one rule: neighbours, marks of fault, the law, the column."""

from __future__ import annotations

from datetime import date

from analysis.bar_words import said, told
from analysis.bars import Bar, Bars
from panel.frames import casks_frame, stock_frame
from panel.frames.bars import bar_rules, bars_by_filling
from panel.kinds import EventKind, ReleaseStatus
from panel.records.rules import set_in_force
from panel.store.casks import Filling
from panel.store.engine import Store
from panel.store.releases import Release, ReleasePart
from tests.conftest import FIXED_NOW
from tests.houses.parts import add_event, add_filling, add_make, add_regauge

AS_OF, EARLIER = date(2022, 5, 1), date(2022, 4, 1)


def kinds(bars: Bars) -> set[Bar]:
    return {each.bar for each in bars}


def bars_in(store: Store, label: str = "0101/1", as_of: date = AS_OF) -> Bars:
    with store.read() as db:
        return bars_by_filling(db, as_of)[label][1]


def refill(store: Store) -> None:
    with store.write() as db:
        first = add_filling(db, "0101", add_make(db))
        add_regauge(db, first, date(2021, 5, 1), 180.0, 60.0)
        second = add_filling(db, "0102", first.make, label="0101/2", filled_on=date(2021, 6, 1))
        second.cask = first.cask


def test_two_fillings_in_one_cask_bar_each_other_until_one_is_emptied(store: Store) -> None:
    refill(store)
    assert Bar.TWO_FILLINGS not in kinds(bars_in(store, as_of=date(2021, 5, 31)))
    assert bars_in(store)[0].facts.others == ("0101/2",)
    assert kinds(bars_in(store, "0101/2")) == {Bar.TWO_FILLINGS}
    with store.write() as db:
        old = db.query(Filling).filter_by(label="0101/1").one()
        add_event(db, old, EventKind.EMPTIED, date(2021, 6, 1))
    assert bars_in(store, "0101/2") == ()


def test_law_and_house_say_what_is_weak_and_what_is_old(store: Store) -> None:
    with store.write() as db:
        add_regauge(db, add_filling(db, "0101", add_make(db)), date(2019, 4, 30), 90.0, 39.9)
    assert kinds(bars_in(store)) == {Bar.GAUGE, Bar.STRENGTH}
    with store.write() as db:
        set_in_force(db, "Scotch whisky", False, now=FIXED_NOW, by=None)
        assert bar_rules(db).legal_abv_percent is None
    assert kinds(bars_in(store)) == {Bar.GAUGE}
    assert kinds(bars_in(store, as_of=date(2022, 4, 29))) == set()


def test_reserved_for_whom_in_part_and_whole(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, AS_OF, 100.0, 60.0)
        db.flush()
        release = Release(
            name="Spring", status=ReleaseStatus.PROPOSED, planned_on=AS_OF, proposed_by="BL"
        )
        release.parts.append(ReleasePart(filling_id=filling.id, litres=40.0))
        db.add(release)
    assert [said(each) for each in bars_in(store)] == ["40 L reserved for release Spring"]
    with store.write() as db:
        add_event(db, db.query(Filling).one(), EventKind.RESERVED, EARLIER, litres=60.0)
    assert [said(each) for each in bars_in(store)] == ["reserved for release Spring"]
    with store.write() as db:
        add_event(db, db.query(Filling).one(), EventKind.RESERVED, AS_OF)
    assert [said(each) for each in bars_in(store)] == ["reserved as a whole"]


def test_the_frames_carry_the_bars_of_every_filling(store: Store) -> None:
    refill(store)
    with store.write() as db:
        add_event(
            db, db.query(Filling).filter_by(label="0101/2").one(), EventKind.LEAK_FOUND, AS_OF
        )
        expected = {label: bars for label, (_, bars) in bars_by_filling(db, AS_OF).items()}
        for frame in (casks_frame(db, AS_OF), stock_frame(db, AS_OF)):
            found = dict(zip(frame["filling"], frame["bars"], strict=True))
            # The stock knows the day as well, on which nothing more is barred here.
            assert {label: told(bars) for label, bars in found.items()} == {
                label: told(bars) for label, bars in expected.items()
            }
            assert frame["status"].tolist() == ["filled", "leaking"]


def test_a_cask_promised_whole_for_a_later_day_is_reserved_and_nothing_of_it_is_free(
    store: Store,
) -> None:
    """By then it holds less than today: what evaporates until then is nobody's."""
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        add_regauge(db, filling, AS_OF, 100.0, 60.0)
        db.flush()
        release = Release(
            name="Autumn", status=ReleaseStatus.PROPOSED, planned_on=AS_OF, proposed_by="BL"
        )
        release.parts.append(ReleasePart(filling_id=filling.id, litres=94.0, whole=True))
        db.add(release)
    assert [said(each) for each in bars_in(store)] == ["reserved for release Autumn"]
    assert kinds(bars_in(store)) == {Bar.RESERVED}

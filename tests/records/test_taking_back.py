"""What was written of a cask last is taken back by who wrote it, unless something rests on it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import select, text

from panel.errors import NotAllowed
from panel.intake.loading import add_record, load_file
from panel.intake.saving import save_file
from panel.kinds import Role
from panel.questions.cask_life import cask_life
from panel.records.casks import hold_filling
from panel.records.taking_back import What, last_act, take_back_last
from panel.store.casks import Filling, FillingEvent
from panel.store.drawn_ages import ages_inherited
from panel.store.engine import Store
from panel.store.filling_states import FillingState, filling_states
from panel.store.findings import Level
from panel.store.log import LogEntry
from panel.store.log_findings import log_findings
from tests.conftest import FIXED_NOW
from tests.houses.parts import add_filling, add_make, person

TODAY = date(2026, 3, 14)
LATER = FIXED_NOW + timedelta(minutes=3)
MOVED = {"filling": "C1/1", "kind": "moved", "happened_on": "2026-03-14", "warehouse": "9"}
TOPPED = {
    **{"filling": "C1/1", "kind": "topped", "happened_on": "2026-03-14"},
    **{"parent": "C2/1", "litres": "20"},
}
EMPTIED = {"filling": "C1/1", "kind": "emptied", "happened_on": "2026-03-14"}


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        make = add_make(db)
        for number in ("C1", "C2"):
            add_filling(db, number, make, warehouse="2")
        for code in ("LD", "XL"):
            db.add(person(code, Role.LEAD))
    return store


def write(store: Store, kind: str, values: Mapping[str, str], *, by: str = "LD") -> None:
    report = add_record(store, kind, values, now=FIXED_NOW, by=by)
    assert report.written, report.problems


def take_back(store: Store, cask: str = "C1", *, minutes: float = 3, by: str = "LD") -> str:
    with store.write() as db:
        done = take_back_last(db, cask, now=FIXED_NOW + timedelta(minutes=minutes), by=by)
        return done.sentence()


def state_of(store: Store, label: str) -> FillingState:
    with store.read() as db:
        return next(s for s in filling_states(db, TODAY) if s.label == label)


@pytest.mark.parametrize("values", [MOVED, TOPPED, EMPTIED], ids=lambda v: v["kind"])
def test_an_event_taken_back_counts_for_nothing_and_stays_on_the_page(
    house: Store, values: Mapping[str, str]
) -> None:
    before = {label: state_of(house, label) for label in ("C1/1", "C2/1")}
    with house.read() as db:
        ages = ages_inherited(db, db.scalars(select(Filling.id)))
    write(house, "events", values)
    assert state_of(house, "C1/1") != before["C1/1"]
    said = take_back(house)
    assert said.startswith(f"C1/1, {values['kind']}")
    assert {label: state_of(house, label) for label in before} == before
    with house.read() as db:
        assert ages_inherited(db, ages) == ages
        [told] = [e for e in cask_life(db, "C1", TODAY).entries if e.kind == "taken back"]
        assert told.words.startswith(values["kind"])
        assert told.words.endswith("; by LD")
        assert db.scalars(select(FillingEvent)).one().reversal is not None
        assert {f.level for f in log_findings(db, house.url)} == {Level.GOOD}
        body = db.scalars(select(LogEntry.body_json).order_by(LogEntry.id.desc())).first()
    assert json.loads(body or "")["action"] == "event taken back"


def test_the_same_is_written_again_and_taken_back_again(house: Store, tmp_path: Path) -> None:
    write(house, "events", MOVED)
    take_back(house)
    write(house, "events", {**MOVED, "warehouse": "7"})
    assert state_of(house, "C1/1").place.warehouse == "7"
    saved = tmp_path / "events.csv"
    save_file(house, "events", saved)
    assert saved.read_text("utf-8").count("moved") == 1
    again = load_file(house, "events", saved, now=FIXED_NOW, by="LD")
    assert (again.accepted, again.changed, again.unchanged) == (0, 0, 1)
    take_back(house)
    assert state_of(house, "C1/1").place.warehouse == "2"
    write(house, "events", {**MOVED, "entry": "2"})
    with house.read() as db:
        assert db.scalars(select(FillingEvent.entry).order_by(FillingEvent.id)).all() == [1, 2, 4]


def test_what_was_written_last_goes_first(house: Store) -> None:
    write(house, "events", MOVED)
    assert hold_filling(house, "C1/1", "musty", "", now=FIXED_NOW, by="LD").written
    assert take_back(house) == "The hold of C1/1 is taken back."
    assert state_of(house, "C1/1").hold_reason is None
    assert take_back(house).startswith("C1/1, moved")
    with pytest.raises(NotAllowed, match="within ten minutes"):
        take_back(house)


def test_a_hold_that_was_lifted_is_there_again_with_its_day(house: Store) -> None:
    early = FIXED_NOW - timedelta(days=2)
    assert hold_filling(house, "C1/1", "musty", "2026-05-01", now=early, by="XL").written
    assert hold_filling(house, "C1/1", "", "", now=FIXED_NOW, by="LD").written
    assert take_back(house).startswith("Lifting the hold")
    with house.read() as db:
        held = db.scalars(select(Filling).where(Filling.label == "C1/1")).one()
        assert (held.hold_reason, held.hold_until) == ("musty", date(2026, 5, 1))
    with pytest.raises(NotAllowed, match="within ten minutes"):
        take_back(house)


def test_ten_minutes_over_another_person_and_something_else_seen(house: Store) -> None:
    write(house, "events", MOVED)
    with pytest.raises(NotAllowed, match="within ten minutes"):
        take_back(house, minutes=10.1)
    with pytest.raises(NotAllowed, match="was written by LD"):
        take_back(house, by="XL")
    with house.read() as db:
        seen = last_act(db, "C1", now=LATER)
    write(house, "events", {**MOVED, "kind": "leak found"})
    with pytest.raises(NotAllowed, match="changed by somebody since"), house.write() as db:
        take_back_last(db, "C1", now=LATER, by="LD", seen=seen)
    assert seen is not None
    assert seen.what is What.EVENT


def test_a_damaged_entry_stops_nobody_and_tells_nothing(house: Store) -> None:
    write(house, "events", MOVED)
    with house.write() as db:
        db.execute(text("UPDATE log_entry SET kept_json = '[', body_json = '{'"))
    with house.read() as db:
        assert last_act(db, "C1", now=LATER) is None


DRAW = {"sample": "D1", "kind": "cask", "filling": "C2/1", "drawn_on": "2026-03-14"}
GAUGE = {"filling": "C1/1", "gauged_on": "2026-03-14", "bulk_l": "190", "abv": "58"}


@pytest.mark.parametrize(
    ("kind", "values", "named"),
    [
        ("draws", DRAW, "sample D1"),
        ("regauges", {**GAUGE, "method": "dipped"}, "the regauge of C1/1 on 2026-03-14"),
        ("events", {**MOVED, "filling": "C2/1"}, "C2/1, moved on 2026-03-14"),
    ],
)
def test_a_later_record_that_rests_on_it_is_named(
    house: Store, kind: str, values: Mapping[str, str], named: str
) -> None:
    write(house, "events", TOPPED)
    write(house, kind, values)
    with pytest.raises(NotAllowed, match=f"later record rests on it: {named}"):
        take_back(house)
    assert state_of(house, "C1/1").added


def test_a_draw_does_not_rest_on_a_move(house: Store) -> None:
    write(house, "events", MOVED)
    write(house, "draws", {**DRAW, "filling": "C1/1"})
    assert take_back(house).startswith("C1/1, moved")


def test_what_a_file_changed_and_the_only_origin_stay(house: Store) -> None:
    early = FIXED_NOW - timedelta(hours=1)
    assert add_record(house, "events", MOVED, now=early, by="LD").written
    write(house, "events", {**MOVED, "note": "row three"})
    with pytest.raises(NotAllowed, match="written before and brought up to date now"):
        take_back(house)
    wood = {"cask": "C3", "wood": "oak butt", "size_l": "500", "filled_on": "2026-03-14"}
    write(house, "casks", {**wood, "fill_number": "1", "fill_abv": "60", "fill_bulk_l": "100"})
    racked = {"filling": "C3/1", "kind": "re-racked", "happened_on": "2026-03-14"}
    write(house, "events", {**racked, "parent": "C2/1", "litres": "100"})
    with pytest.raises(NotAllowed, match="where the spirit of C3/1 came from"):
        take_back(house, "C3")


def test_no_question_for_events_forgets_those_taken_back() -> None:
    """Whoever asks the table for events asks for those that stand, or says here why not."""
    import panel

    root = Path(panel.__file__).parent
    asking = {
        path.relative_to(root).as_posix(): text
        for path in root.rglob("*.py")
        if "select(" in (text := path.read_text("utf-8")) and "FillingEvent" in text
    }
    asked = {name for name, text in asking.items() if "standing()" not in text}
    assert asked == {
        "intake/event_checks.py",  # reads `Filling.events`
        "intake/casks.py",  # likewise
        "kept/stock_records.py",  # a digest of whole tables, those of what was taken back too
        "questions/cask_entries.py",  # tells of both
        "records/traces.py",  # whoever is erased is gone from both
    }


def test_a_gauge_is_not_taken_back_and_it_is_said_how_it_is_put_right(house: Store) -> None:
    gauge = {"filling": "C1/1", "gauged_on": "2026-03-13", "bulk_l": "140", "abv": "60"}
    write(house, "regauges", {**gauge, "method": "dipped"})
    with pytest.raises(NotAllowed, match="its gauge of 2026-03-13 came in by a file") as refused:
        take_back(house)
    assert "`oakpanel load regauges FILE`" in str(refused.value)
    write(house, "regauges", {**gauge, "method": "dipped", "bulk_l": "150"})
    assert state_of(house, "C1/1").gauge.bulk_l == 150.0
    with pytest.raises(NotAllowed, match="write down what is so now"):
        take_back(house, "C2")

"""The last edit of a list is taken back by who made it, unless something rests on it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from panel.errors import NotAllowed
from panel.intake.loading import add_record, load_file
from panel.kinds import EditedList, Role, SessionStatus
from panel.questions.house import setting_lines
from panel.questions.lexicon import descriptor_lines
from panel.questions.targets import target_records
from panel.records.erase import erase_person
from panel.records.lists_back import EditTakenBack, last_edit, take_edit_back
from panel.records.rules import change_rule, set_in_force
from panel.records.settings import change_setting
from panel.records.targets import Likeness, make_target
from panel.records.traces import speaks_of
from panel.store.engine import Store
from panel.store.findings import Level
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.list_edits import ListEdit
from panel.store.log import LogEntry, append_entry
from panel.store.log_findings import log_findings
from panel.store.rules import rule_books
from panel.store.sessions import PanelSession, SessionDescriptor
from tests.conftest import FIXED_NOW
from tests.houses.parts import person

LEXICON, TARGETS = EditedList.LEXICON, EditedList.TARGETS
RULES, SETTINGS = EditedList.RULES, EditedList.SETTINGS
SMOKE = {
    **{"descriptor": "smoke", "stage": "nose", "low_words": "none", "high_words": "thick"},
    **{"meaning": "hearth", "version": "1"},
}
LINE = {"target": "Lantern", "descriptor": "smoke", "aim": "30", "tolerance": "5", "weight": "1"}
LAW = "Bylaw 7"


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        db.add_all([person("LD", Role.LEAD), person("XL", Role.LEAD), person("BL", Role.BLENDER)])
    write(store, "lexicon", SMOKE, minutes=-30)
    write(store, "lexicon", {**SMOKE, "descriptor": "tar"}, minutes=-30)
    write(store, "targets", LINE, minutes=-30)
    return store


def at(minutes: float) -> Any:
    return FIXED_NOW + timedelta(minutes=minutes)


def write(
    store: Store, kind: str, values: Mapping[str, str], *, minutes: float = 0, by: str = "LD"
) -> None:
    report = add_record(store, kind, values, now=at(minutes), by=by)
    assert report.written, report.problems


def take_back(
    store: Store, edited: EditedList, name: str | None, *, minutes: float = 3, by: str = "LD"
) -> EditTakenBack:
    with store.write() as db:
        return take_edit_back(db, edited, name, now=at(minutes), by=by)


def refused(store: Store, edited: EditedList, name: str | None, **how: Any) -> str:
    before = everything(store)
    with pytest.raises(NotAllowed) as error:
        take_back(store, edited, name, **how)
    assert everything(store) == before
    return str(error.value)


def everything(store: Store) -> tuple[object, ...]:
    """What the lists hold, as the pages and commands read it."""
    with store.read() as db:
        return (descriptor_lines(db), target_records(db), rule_books(db), setting_lines(db))


def a_setting(store: Store) -> None:
    with store.write() as db:
        change_setting(db, "pause_s", "90", now=FIXED_NOW, by="LD")


def a_rule(store: Store) -> None:
    with store.write() as db:
        change_rule(db, "Scotch whisky", "minimum age", 12, LAW, now=FIXED_NOW, by="LD")


def a_rule_out(store: Store) -> None:
    with store.write() as db:
        change_rule(db, "County", "minimum strength", None, LAW, now=FIXED_NOW, by="LD")


def a_set_off(store: Store) -> None:
    with store.write() as db:
        set_in_force(db, "Scotch whisky", False, now=FIXED_NOW, by="LD")


def a_target_like(store: Store) -> None:
    like = Likeness("a cask", {"smoke": 40.0, "tar": 12.0}, {}, {})
    with store.write() as db:
        make_target(db, "Ember", like, now=FIXED_NOW, by="BL")


NEW_VERSION = {**SMOKE, "version": "2", "high_words": "black", "pools_with_previous": "yes"}
EDITS: dict[str, tuple[EditedList, str, Callable[[Store], None], str]] = {
    "a new version": (LEXICON, "smoke", lambda s: write(s, "lexicon", NEW_VERSION), "LD"),
    "another meaning": (
        *(LEXICON, "smoke"),
        lambda s: write(s, "lexicon", {**SMOKE, "stage": "finish", "meaning": "tar"}),
        "LD",
    ),
    "a retirement": (
        *(LEXICON, "tar"),
        lambda s: write(s, "lexicon", {**SMOKE, "descriptor": "tar", "retired_on": "2026-03-14"}),
        "LD",
    ),
    "a new word": (
        *(LEXICON, "peat"),
        lambda s: write(s, "lexicon", {**SMOKE, "descriptor": "peat"}),
        "LD",
    ),
    "a line": (TARGETS, "Lantern", lambda s: write(s, "targets", {**LINE, "aim": "44.5"}), "LD"),
    "a new line": (
        *(TARGETS, "Lantern"),
        lambda s: write(s, "targets", {**LINE, "descriptor": "tar"}),
        "LD",
    ),
    "a new target": (TARGETS, "Ember", a_target_like, "BL"),
    "a rule": (RULES, "Scotch whisky", a_rule, "LD"),
    "a rule struck out": (RULES, "County", a_rule_out, "LD"),
    "a set off": (RULES, "Scotch whisky", a_set_off, "LD"),
    "a setting": (SETTINGS, "pause_s", a_setting, "LD"),
}


@pytest.mark.parametrize("what", EDITS)
def test_what_stood_before_stands_again_and_the_log_vouches_for_all(
    house: Store, what: str
) -> None:
    edited, name, edit, by = EDITS[what]
    before = everything(house)
    edit(house)
    assert everything(house) != before
    with house.read() as db:
        last = last_edit(db, edited, name, now=at(3))
    assert last is not None
    assert last.why_not(by) == ""
    done = take_back(house, edited, name, by=by)
    assert everything(house) == before
    with house.read() as db:
        rows = {row.id: row for row in db.scalars(select(ListEdit))}
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert [f for f in log_findings(db, house.url) if f.level is Level.FAULT] == []
    assert entry is not None
    assert '"action":"edit taken back"' in str(entry.body_json)
    reversing = [row for row in rows.values() if row.reverses_id]
    assert sorted(row.reverses_id or 0 for row in reversing) == sorted(last.rows)
    for row in reversing:  # the first edit stays as it was told
        first = rows[row.reverses_id or 0]
        assert (row.before_json, row.after_json) == (first.after_json, first.before_json)
    assert len(done.records) == len(last.rows)
    assert refused(house, edited, name, by=by).startswith("Nothing of ")


def test_edits_are_taken_back_one_after_the_other_the_last_first(house: Store) -> None:
    states = [everything(house)]
    for minutes, aim in enumerate(("31", "32", "33")):
        write(house, "targets", {**LINE, "aim": aim}, minutes=minutes)
        states.append(everything(house))
    for state in reversed(states[:-1]):
        take_back(house, TARGETS, "Lantern")
        assert everything(house) == state


def test_a_file_is_taken_back_whole_and_a_word_of_it_alone(house: Store, tmp_path: Path) -> None:
    before = everything(house)
    file = tmp_path / "words.csv"
    rows = "".join(f"{word},nose,none,much\n" for word in ("fern", "salt", "rope", "wax", "tar"))
    file.write_text(f"descriptor,stage,low_words,high_words\n{rows}")
    assert load_file(house, "lexicon", file, now=FIXED_NOW, by="LD").written
    alone = take_back(house, LEXICON, "salt")
    assert alone.records == ("salt", "salt version 1")
    done = take_back(house, LEXICON, None)
    assert "fern version 1, rope version 1, wax version 1 and 1 more" in done.sentence()
    assert everything(house) == before


def test_the_same_bounds_as_for_a_cask(house: Store) -> None:
    write(house, "targets", {**LINE, "aim": "44"})
    told = refused(house, TARGETS, "Lantern", by="XL")
    assert told == (
        "The edit of target Lantern (smoke) was written by LD: who did it takes it back."
    )
    assert "within ten minutes" in refused(house, TARGETS, "Lantern", minutes=10.1)
    with house.write() as db:
        db.execute(text("UPDATE target_line SET aim = 50"))
    told = refused(house, TARGETS, "Lantern")
    assert told == ("Lantern, smoke was changed by somebody since: write down what is so now.")


def test_something_written_since_it_was_seen_is_not_taken_back(house: Store) -> None:
    write(house, "targets", {**LINE, "aim": "44"})
    with house.read() as db:
        saw = last_edit(db, TARGETS, "Lantern", now=at(1))
    write(house, "targets", {**LINE, "aim": "45"}, minutes=1)
    with house.write() as db, pytest.raises(NotAllowed, match="came last"):
        take_edit_back(db, TARGETS, "Lantern", now=at(2), by="LD", seen=saw)


def a_session(house: Store, *words: str) -> None:
    with house.write() as db:
        session = PanelSession(name="Monday", status=SessionStatus.DRAFT)
        for place, word in enumerate(words, 1):
            version = db.scalars(
                select(DescriptorVersion)
                .join(Descriptor)
                .where(Descriptor.name == word)
                .order_by(DescriptorVersion.version.desc())
            ).first()
            session.descriptors.append(SessionDescriptor(descriptor_version=version, place=place))
        db.add(session)
        append_entry(db, at=at(1), by="LD", action="session planned", details={"session": "Monday"})


def seal(house: Store) -> None:
    with house.write() as db:
        append_entry(db, at=at(2), by="LD", action="session sealed", details={"session": "Monday"})


def test_what_a_session_scores_stays(house: Store) -> None:
    write(house, "lexicon", NEW_VERSION)
    write(house, "lexicon", {**SMOKE, "descriptor": "tar", "meaning": "pitch"})
    a_session(house, "smoke", "tar")
    for word in ("smoke", "tar"):
        told = refused(house, LEXICON, word)
        assert told.endswith("rests on it: session Monday has it as a line.")


def test_a_seal_keeps_the_words_of_its_session(house: Store) -> None:
    a_session(house, "tar")
    for word in ("smoke", "tar"):
        write(house, "lexicon", {**SMOKE, "descriptor": word, "meaning": "pitch"}, minutes=1)
    seal(house)
    assert "session Monday has it as a line" in refused(house, LEXICON, "tar")
    take_back(house, LEXICON, "smoke")


def test_a_word_that_a_target_asks_for_stays(house: Store) -> None:
    write(house, "lexicon", {**SMOKE, "descriptor": "peat"})
    write(house, "targets", {**LINE, "descriptor": "peat"})
    assert refused(house, LEXICON, "peat").endswith("rests on it: target Lantern asks for it.")
    take_back(house, TARGETS, "Lantern")
    take_back(house, LEXICON, "peat")


def test_what_was_planned_by_a_setting_keeps_it(house: Store) -> None:
    a_setting(house)
    a_session(house)
    told = refused(house, SETTINGS, "pause_s")
    assert told.endswith("rests on it: session Monday was written since.")


def test_who_may_not_edit_a_list_takes_nothing_back(house: Store) -> None:
    a_rule(house)
    assert "does not have the role 'lead'" in refused(house, RULES, "Scotch whisky", by="BL")


def test_an_erased_person_is_in_no_edit_and_what_named_them_is_not_put_back(house: Store) -> None:
    with house.write() as db:
        db.add(person("1", Role.ASSESSOR))
    write(house, "lexicon", {**SMOKE, "meaning": "as 1 found it"})
    write(house, "lexicon", {**SMOKE, "meaning": "hearth"}, minutes=1)
    with house.write() as db:
        erase_person(db, "1", keep_scores=True, now=at(2), by="LD")
    with house.read() as db:
        for edit in db.scalars(select(ListEdit)):
            said = (edit.name, edit.part, edit.before_json, edit.after_json)
            assert not any(speaks_of(each or "", ["1"]) for each in said), said
    assert "changed by somebody since" in refused(house, LEXICON, "smoke")

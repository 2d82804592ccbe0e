"""Every column that can hold a code or free text belongs to the erasure of a person."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import pytest
from sqlalchemy import Column, MetaData, String, Table, inspect, select, update

from panel.kinds import (
    BottleKind,
    EventKind,
    GaugeMethod,
    ReleaseStatus,
    RemarkKind,
    RuleKind,
    ServingStatus,
)
from panel.records import traces
from panel.records.erase import Erasure, erase_person
from panel.records.traces import columns_of, speaks_of, text_columns
from panel.store.answers import AnswerChange
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import EventReversal, FillingEvent, HoldChange, Regauge
from panel.store.consents import Consent
from panel.store.draws import RegisterReversal
from panel.store.engine import Store
from panel.store.house_setting import HouseSetting
from panel.store.lexicon import Descriptor
from panel.store.log import append_entry
from panel.store.mixing_notes import MixingNote
from panel.store.own_words import OwnScoreChange, OwnWord
from panel.store.passing import Passing
from panel.store.planted import Planted
from panel.store.releases import Release
from panel.store.review_ticks import ReviewTick
from panel.store.rule_sets import RuleLine, RuleSet
from panel.store.sessions import BoothSeat, ServingMark
from panel.store.site_packs import Moved, PackAmount, SitePack
from panel.store.stock_plans import PlannedPart, PlannedRelease, StoredPlan
from panel.store.stops import DrawStop
from panel.store.targets import StoredTarget
from panel.store.word_matches import OwnWordMatch
from tests.conftest import FIXED_NOW
from tests.houses.kept import kept
from tests.houses.small import add_house
from tests.records.test_erase import all_text

LISTS = ("CODES", "WORDS", "DOCUMENTS", "OWN", "CLEARED", "NAMES", "NEVER")
SAID = "spoke to a2, and to ILSE WEIR, of A22"
LEFT = "of A22"


@kept
def fill(store: Store, now: datetime) -> None:
    with store.write() as db:
        add_house(db, now)
        for each in _more_records(now):
            db.add(each)
            db.flush()


@pytest.fixture
def house(store: Store, fixed_now: datetime) -> Store:
    fill(store, fixed_now)
    return store


def _more_records(now: datetime) -> list[Any]:
    """Return a record of each table that the small house has none of and that may name somebody."""
    day = date(2026, 3, 1)
    law = RuleLine(kind=RuleKind.MINIMUM_AGE, cites="x")
    release = Release(
        name="Spring", status=ReleaseStatus.PROPOSED, planned_on=day, proposed_by="A2",
        disgorged_by="A2", reason="x", limits_json="{}", predicted_json="{}", found_json="{}",
    )  # fmt: skip
    return [
        ServingMark(serving_id=1, status=ServingStatus.VOID, marked_at=now, by_code="A2"),
        OwnWord(session_id=1, person_id=1, place=1, word="x", named_at=now),
        OwnScoreChange(serving_id=1, own_word_id=1, value=1, changed_at=now, by_code="A2"),
        AnswerChange(serving_id=1, question=1, value=1, changed_at=now, by_code="A2"),
        Passing(session_id=1, told="x", parcel="x", air_s=600),
        Planted(draw_id=1, made_by="A2", made_on=day, stock="x", safety_sheet="x"),
        OwnWordMatch(own_word_id=1, descriptor_id=1, confirmed_by="A2", confirmed_at=now),
        BoothSeat(session_id=1, person_id=1, token_hash="x", taken_at=now),
        DrawStop(
            serving_id=1,
            stopped_at=now,
            lifted_at=now,
            by_code="A2",
            lifted_by="A2",
            lifted_because="x",
        ),
        Consent(person_id=1, given_on=day, text_version="1", keeps_scores=True),
        FillingEvent(filling_id=1, kind=EventKind.MOVED, happened_on=day),
        EventReversal(event_id=1, taken_back_at=now, by_code="A2"),
        HoldChange(filling_id=1, reason="x", reason_before="x", changed_at=now, by_code="A2"),
        RegisterReversal(
            draw_id=1, reason="x", fate="x", because="x", reversed_at=now, by_code="A2"
        ),
        Regauge(filling_id=1, gauged_on=day, bulk_l=100, abv=60, method=GaugeMethod.DIPPED),
        MixingNote(descriptor_id=1, exponent=1, source="x", kept_on=day),
        *(release, StoredTarget(name="Lantern"), HouseSetting(name="dry_stores", value="Nave")),
        RuleSet(name="ours", in_force=False, lines=[law]),
        StoredPlan(
            name="Years", limits="x", found_json="{}", kept_on=day,
            releases=[
                PlannedRelease(
                    name="Autumn", place=1, year=2027, target_id=1, bottles=600, abv=46.0,
                    rule_set="ours", limits="x",
                )
            ],
            parts=[PlannedPart(place=1, filling_id=1, litres=9, held_l=9, abv=60)],
        ),
        ReviewTick(
            filling_id=1, reason="leaks", stands_on=day, done_at=now, by_code="A2", note="x"
        ),
        BottleRemark(
            release_id=1, kind=RemarkKind.REMARK, made_on=day, said="x", kept_on=day,
            by_code="A2", outcome="x", person=RemarkPerson(outside_name="x", reach="x"),
        ),
        LotBottle(
            release_id=1, kind=BottleKind.RETAINED, place="Nave", kept_on=day, gone_on=day,
            gone_to="x",
        ),
        SitePack(
            session_id=1, pack_hex="1", house_hex="2", file_hash="3", secret_hex="4", site="x",
            water="x", made_at=now, by_code="A2", nose_by=day, recalled_at=now,
            recalled_because="x",
            amounts=[
                PackAmount(moved=Moved.SENT, millilitres=9, abv=20, moved_on=day, by_code="A2")
            ],
        ),
    ]  # fmt: skip


def erase(store: Store) -> Erasure:
    with store.write() as db:
        return erase_person(db, "A2", keep_scores=True, now=FIXED_NOW, by="M1")


def passed_by(tables: list[Table] | None = None) -> set[str]:
    found = text_columns() if tables is None else text_columns(tables)
    listed = columns_of([each for name in LISTS for each in getattr(traces, name)])
    return {str(column) for column in found if column not in listed}


def test_every_column_of_text_has_a_list_and_only_one() -> None:
    assert passed_by() == set()
    listed = [str(each) for name in LISTS for each in getattr(traces, name)]
    assert len(listed) == len(set(listed))


def test_a_new_column_that_erasure_passes_by_is_told() -> None:
    table = Table("new", MetaData(), Column("remark", String), Column("row_nonce", String))
    assert passed_by([table]) == {"new.remark"}


def test_what_was_written_freely_speaks_of_the_pseudonym(house: Store) -> None:
    # The seat and the word are the lead's here: those of the erased person go as a whole.
    with house.write() as db:
        for attribute in traces.WORDS:
            changed = db.execute(update(attribute.class_).values({attribute.key: SAID}))
            assert changed.rowcount > 0, str(attribute)  # type: ignore[attr-defined]
    name = erase(house).pseudonym
    with house.read() as db:
        for attribute in traces.WORDS:
            found = set(db.scalars(select(attribute)))
            assert found == {f"spoke to {name}, and to {name}, {LEFT}"}, str(attribute)


def test_where_a_code_stands_the_pseudonym_stands(house: Store) -> None:
    name = erase(house).pseudonym
    with house.read() as db:
        for attribute in traces.CODES:
            found = set(db.scalars(select(attribute).where(attribute.is_not(None))))
            assert "A2" not in found, str(attribute)
            assert name in found or attribute is Release.signed_by, str(attribute)


def test_who_signed_is_replaced(house: Store) -> None:
    with house.write() as db:
        db.scalars(select(Release)).one().proposed_by = "M1"
        db.flush()
        db.scalars(select(Release)).one().signed_by = "A2"
    name = erase(house).pseudonym
    with house.read() as db:
        assert db.scalar(select(Release.signed_by)) == name


@pytest.mark.parametrize("attribute", traces.DOCUMENTS, ids=str)
def test_sentences_in_documents_change_and_names_of_records_do_not(
    house: Store, attribute: Any
) -> None:
    with house.write() as db:
        db.add(Descriptor(name="a2 berry"))
        kept = '{"a2 berry": ["a2 berry", "agreed by A2", 3, null]}'
        db.execute(update(attribute.class_).values({attribute.key: kept}))
    done = erase(house)
    with house.read() as db:
        said = db.scalar(select(attribute))
    assert said == f'{{"a2 berry": ["a2 berry", "agreed by {done.pseudonym}", 3, null]}}'
    released = ("Spring",) if attribute.class_ is Release else ()
    assert done.releases_no_longer_checkable == released
    assert done.still_named == ("descriptor name: a2 berry",)


def test_the_houses_own_names_stay_and_are_told(house: Store) -> None:
    named: dict[str, Any] = {
        f"A2 of all <{at}>": attribute
        for at, attribute in enumerate(traces.NAMES)
        if attribute.key != "lot_code"
    }
    with house.write() as db:
        for name, attribute in named.items():
            first = select(*inspect(attribute.class_).primary_key).limit(1)
            record = db.get(attribute.class_, tuple(db.execute(first).one()))
            setattr(record, attribute.key, name)
    done = erase(house)
    said = all_text(house)
    for name, attribute in named.items():
        assert any(each.endswith(name) for each in done.still_named), str(attribute)
        # It stands where it stood, and nowhere else: the log must not say it again.
        assert said.count(name) == 1, str(attribute)


def test_entries_that_speak_of_them_in_a_sentence_are_emptied(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        details = {"reason": "asked for by ilse weir"}
        append_entry(db, at=fixed_now, by="M1", action="reopened", details=details)
        details = {"reason": "the a2 tray was late"}
        append_entry(db, at=fixed_now, by="M1", action="reopened", details=details)
        append_entry(db, at=fixed_now, by="M1", action="reopened", details={"code": "a2"})
    assert erase(house).log_entries_cleared == 4


@pytest.mark.parametrize(
    ("said", "does"),
    [("A2", True), ("a2.", True), ("A22", False), ("x-A2", False), ("", False)],
)
def test_a_word_by_itself(said: str, does: bool) -> None:
    assert speaks_of(said, ["A2", "Ilse Weir"]) is does

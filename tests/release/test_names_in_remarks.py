"""A name that is deleted is looked for in remarks and notes, and taken out place by place."""

from __future__ import annotations

import json

import pytest

from panel.errors import (
    UnknownRecord,
)
from panel.records.traces import WORDS
from panel.release.lot_bottles import (
    close_remark,
    forget_who,
    keep_remark,
)
from panel.release.lot_trace import all_remarks
from panel.release.name_places import LOOKED, NOT_LOOKED, PlacesOpen
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import Filling, HoldChange
from panel.store.engine import Store
from panel.store.releases import Release
from panel.store.sessions import ServingNote
from panel.store.stock_plans import StoredPlan
from panel.words.lot_words import forgotten_words
from tests.cli.calling import caller
from tests.conftest import FIXED_NOW
from tests.release.lots import build_lots


@pytest.fixture
def house(store: Store) -> Store:
    build_lots(store)
    return store


def named(house: Store, said: str, outcome: str | None = None) -> int:
    with house.write() as db:
        kept = keep_remark(
            *(db, "L1-1"),
            said=said,
            who="Ada-Lune Ostrow",
            reach="ostrow@ferry.example",
            now=FIXED_NOW,
            by="LD",
        )
        if outcome:
            close_remark(*(db, kept.remark), outcome=outcome, keep_who=True, now=FIXED_NOW, by="LD")
    return kept.remark


def test_parts_of_a_name_are_shown_before_any_of_them_is_taken_out(house: Store) -> None:
    other = named(house, "A friend of Lune finds it flat.")
    number = named(house, "Mrs Ostrow (ostrow@ferry.example): Ada's bottle leaks. Adamant.")
    with pytest.raises(PlacesOpen) as open_now, house.write() as db:
        forget_who(db, number, now=FIXED_NOW, by="LD")
    assert [(place.record, place.part) for place in open_now.value.places] == [
        (f"remark {other}", "Lune"),
        (f"remark {number}", "Ostrow"),
        (f"remark {number}", "Ada"),
    ]
    assert str(open_now.value).startswith("Parts of the name stand here:\n")
    assert "--also all" in str(open_now.value)
    with house.read() as db:
        assert db.query(RemarkPerson).count() == 2, "nothing was done"
    with pytest.raises(UnknownRecord, match="no place 4"), house.write() as db:
        forget_who(db, number, also=[4], now=FIXED_NOW, by="LD")
    with house.write() as db:
        done = forget_who(db, number, also=[2, 3], now=FIXED_NOW, by="LD")
    assert (done.forgotten, done.places_left) == (True, 1)
    assert "In 1 place a part of the name was left" in forgotten_words(done, looked=True)
    with house.read() as db:
        said = {remark.remark: remark.said for remark in all_remarks(db)}
    assert said[number] == "Mrs somebody (somebody): somebody's bottle leaks. Adamant."
    assert said[other] == "A friend of Lune finds it flat."


def test_a_place_is_shown_as_it_stands_and_as_it_would_become(house: Store) -> None:
    number = named(house, "Miss Ada-Lune Ostrow says it is flat; Ostrow asks again.")
    with pytest.raises(PlacesOpen) as open_now, house.write() as db:
        forget_who(db, number, now=FIXED_NOW, by="LD")
    (place,) = open_now.value.places
    assert place.around == "Miss Ada-Lune Ostrow says it is flat; Ostrow asks again."
    assert place.becomes == "Miss somebody says it is flat; somebody asks again."
    assert f"would become: {place.becomes}" in str(open_now.value)
    assert "--also all or --also none" in str(open_now.value)
    with house.write() as db:
        done = forget_who(db, number, also=[1], now=FIXED_NOW, by="LD")
        assert all_remarks(db)[0].said == "Miss somebody says it is flat; somebody asks again."
    assert done.taken_from == (f"remark {number}, what was said",)


def test_the_places_that_are_offered_are_there(house: Store) -> None:
    number = named(house, "Lune wrote.", outcome="Told Lune.")
    with pytest.raises(PlacesOpen) as open_now, house.write() as db:
        forget_who(db, number, now=FIXED_NOW, by="LD")
    assert "--also all, --also 1, --also 2 or --also none" in str(open_now.value)


def test_what_was_taken_out_is_said_where_nobody_was_named_any_more(house: Store) -> None:
    number = named(house, "Lune wrote.", outcome="Told Lune.")
    with house.write() as db:
        forget_who(db, number, also=(), now=FIXED_NOW, by="LD")
        done = forget_who(db, number, name="Lune Ostrow", also=[1, 2], now=FIXED_NOW, by="LD")
    said = forgotten_words(done, looked=True)
    assert f"taken out of: remark {number}, what was said; remark {number}, how it ended." in said


def test_every_place_of_a_text_is_shown_and_what_changed_since_is_not_overwritten(
    house: Store,
) -> None:
    far = "the cork was sound and dry, the label clean, and so was the neck"
    number = named(house, f"Lune wrote: {far}. Lune again.")
    with pytest.raises(PlacesOpen) as open_now, house.write() as db:
        forget_who(db, number, now=FIXED_NOW, by="LD")
    shown = open_now.value.places
    assert shown[0].around.count("Lune") == 2
    assert " / " in shown[0].around
    other = named(house, "Lune of the harbour.")
    with house.write() as db:
        db.query(BottleRemark).filter_by(id=number).one().said = "Told Lune Bay."
    with pytest.raises(PlacesOpen, match="changed meanwhile") as again, house.write() as db:
        forget_who(db, number, also=[1], shown=shown, now=FIXED_NOW, by="LD")
    assert [place.around for place in again.value.places] == [
        "Told Lune Bay.",
        "Lune of the harbour.",
    ]
    with house.write() as db:
        shown = again.value.places
        done = forget_who(db, number, also=[1], shown=shown, now=FIXED_NOW, by="LD")
        said = {remark.remark: remark.said for remark in all_remarks(db)}
    assert (done.places_left, said[number]) == (1, "Told somebody Bay.")
    assert said[other] == "Lune of the harbour."


def test_notes_and_reasons_of_the_house_are_looked_through_and_a_booth_is_not(
    house: Store,
) -> None:
    number = named(house, "It leaks.")
    reason = "Mrs Ostrow complained"
    with house.write() as db:
        filling = db.query(Filling).first()
        assert filling is not None
        filling.hold_reason = reason
        db.add(
            HoldChange(filling=filling, reason=reason, changed_at=FIXED_NOW, by_code="LD"),
        )
        db.query(Release).filter_by(name="Winter").one().reason = "as Ostrow asked"
        agreed = {"cask": "0101", "bar": "on hold", "facts": [], "hold_reason": reason}
        told = {"cask": "0101", "bar": "on hold", "sentence": f"Cask 0101 is on hold: {reason}."}
        kept = json.dumps({"agreed": [told], "agreed_then": [agreed]})
        db.query(Release).filter_by(name="Later").one().predicted_json = kept
        plan = StoredPlan(name="Years", kept_on=FIXED_NOW.date(), found_json=kept)
        db.add(plan)
        filling.owner = "Ostrow & Daughters"
    with pytest.raises(PlacesOpen) as open_now, house.write() as db:
        forget_who(db, number, now=FIXED_NOW, by="LD")
    shown = {(place.record, place.what) for place in open_now.value.places}
    assert shown == {
        (f"filling {filling.label}", "hold reason"),
        ("hold change 1", "reason"),
        ("release Winter", "reason"),
    }
    with house.write() as db:
        forget_who(
            *(db, number),
            also=[1, 2, 3],
            shown=open_now.value.places,
            now=FIXED_NOW,
            by="LD",
        )
        assert db.query(HoldChange).one().reason == "Mrs somebody complained"
        owner = db.get_one(Filling, filling.id).owner
        for repeated in (
            db.query(Release.predicted_json).filter_by(name="Later").scalar(),
            db.query(StoredPlan.found_json).scalar(),
        ):  # what was agreed to is the same hold still
            assert repeated == kept.replace("Ostrow", "somebody")
    assert owner == "Ostrow & Daughters", "a name of the house's records stays, and that is said"
    assert ServingNote.text in NOT_LOOKED
    assert set(LOOKED) | set(NOT_LOOKED) == {*WORDS, LotBottle.place}


def test_a_name_that_is_deleted_already_is_looked_for_by_itself(house: Store) -> None:
    number = named(house, "Lune wrote.", outcome="Told Lune.")
    with house.write() as db:
        forget_who(db, number, also=(), now=FIXED_NOW, by="LD")
        assert not forget_who(db, number, now=FIXED_NOW, by="LD").places_left
    with house.write() as db:
        done = forget_who(db, number, name="Lune Ostrow", also=[1, 2], now=FIXED_NOW, by="LD")
        told = all_remarks(db)[0]
    assert (done.forgotten, done.places_left) == (False, 0)
    assert (told.said, told.outcome) == ("somebody wrote.", "Told somebody.")


def test_what_is_written_while_a_terminal_asks_is_not_overwritten(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    number = named(house, "Lune wrote.")
    bottles = caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD")

    def meanwhile(_places: object) -> set[int]:
        with house.write() as db:
            db.query(BottleRemark).one().said = "Told Lune Bay."
        return {1}

    monkeypatch.setattr("panel.cli.proving.at_terminal", lambda: True)
    monkeypatch.setattr("panel.cli.bottles_forget._asked", meanwhile)
    refused = bottles("bottles", "forget", str(number))
    assert (refused.code, "has been changed meanwhile" in refused.err) == (1, True)
    with house.read() as db:
        assert all_remarks(db)[0].said == "Told Lune Bay."


def test_a_deleted_name_is_asked_for_place_by_place_at_a_terminal(
    house: Store, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    number = named(house, "Mrs Ostrow: Ada's bottle leaks.")
    bottles = caller(capsys, monkeypatch, "--db", str(house.url.database), "--by", "LD")
    house.close()
    refused = bottles("bottles", "forget", str(number))
    assert refused.code == 1
    assert "1. remark 1, what was said: Mrs Ostrow" in refused.err
    monkeypatch.setattr("panel.cli.proving.at_terminal", lambda: True)
    said = bottles("bottles", "forget", str(number), typed="n\nall\n")
    assert (said.code, "a part of the name was left" in " ".join(said.out.split())) == (0, True)
    with house.read() as db:
        assert all_remarks(db)[0].said == "Mrs Ostrow: somebody's bottle leaks."
    again = ("bottles", "forget", str(number), "--name", "Ostrow", "--also", "all")
    assert "Not looked through" in " ".join(bottles(*again).out.split())

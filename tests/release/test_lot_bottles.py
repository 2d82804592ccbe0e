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
    UnknownRecord,
    WrongState,
)
from panel.kinds import BottleKind, DrawKind, EventKind, ReleaseStatus, RemarkKind, Role
from panel.records.traces import WORDS
from panel.release.batch import AsBatch
from panel.release.batch_check import check_samples
from panel.release.batch_steps import keep_batch
from panel.release.lot_bottles import (
    _refuse_bottles,
    _refuse_remark,
    bottle_gone,
    close_remark,
    forget_who,
    keep_bottles,
    keep_remark,
    tell_safety,
)
from panel.release.lot_nosing import plan_bottle_nosing
from panel.release.lot_trace import all_remarks, trace_lot, trace_remark
from panel.release.name_places import LOOKED, NOT_LOOKED, PlacesOpen
from panel.store.batches import ReleaseBatch
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson
from panel.store.casks import Filling, HoldChange
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.log import LogEntry
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import ServingNote
from panel.words.lot_words import forgotten_words, lot_lines, next_of_lot
from tests.cli.calling import caller
from tests.conftest import FIXED_NOW
from tests.houses.parts import add_event, add_filling, add_make, descriptor, person

TODAY = FIXED_NOW.date()
BOTTLED = TODAY - timedelta(days=200)
SAID = "Ostrow says that it smells of cork."


def release(name: str, lot: str | None, **litres: object) -> Release:
    made = Release(
        name=name,
        status=ReleaseStatus.BOTTLED if lot else ReleaseStatus.PROPOSED,
        planned_on=BOTTLED,
        proposed_by="LD",
        signed_by="BL" if lot else None,
        signed_at=FIXED_NOW if lot else None,
        disgorged_on=BOTTLED if lot else None,
        bottled_on=BOTTLED if lot else None,
        lot_code=lot,
        bottles=100,
        abv=46.0,
    )
    for filling, amount in litres.get("of", ()):  # type: ignore[attr-defined]
        made.parts.append(ReleasePart(filling=filling, litres=amount, given_l=amount))
    return made


@pytest.fixture
def house(store: Store) -> Store:
    """Two lots that share a cask, one that shares a parent, one that shares nothing."""
    with store.write() as db:
        db.add_all([person("LD", Role.LEAD), person("AA"), person("BB"), person("CC")])
        db.add_all([descriptor("ember"), descriptor("honeycomb")])
        make = add_make(db)
        casks = [add_filling(db, f"010{n}", make) for n in range(1, 5)]
        child = add_filling(db, "0200", None, filled_on=date(2020, 5, 1), fill_bulk_l=100.0)
        add_event(db, child, EventKind.RE_RACKED, date(2020, 5, 1), parent=casks[0], litres=100.0)
        db.add_all(
            [
                release("Spring", "L1-1", of=[(casks[0], 30.0), (casks[1], 10.0)]),
                release("Summer", "L2-1", of=[(casks[1], 20.0)]),
                release("Autumn", "L3-1", of=[(child, 20.0)]),
                release("Winter", "L4-1", of=[(casks[2], 20.0)]),
                release("Later", None, of=[(casks[3], 20.0)]),
            ]
        )
    return store


def remark(house: Store, kind: RemarkKind = RemarkKind.TASTE, lot: str = "L1-1") -> int:
    with house.write() as db:
        return keep_remark(
            *(db, lot),
            said=SAID,
            kind=kind,
            who="Ostrow",
            reach="4 Ferry Lane",
            now=FIXED_NOW,
            by="LD",
        ).remark


def bottles(house: Store, kind: BottleKind, count: int = 1, of: int | None = None) -> None:
    with house.write() as db:
        keep_bottles(
            *(db, "Spring"),
            place="shelf 2",
            count=count,
            kind=kind,
            remark=of,
            now=FIXED_NOW,
            by="LD",
        )


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

"""What the sheet of a release may say of wood, makes and notes, and what it must not."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import delete, select

from panel.kinds import EventKind
from panel.release.category import category_of
from panel.release.woods import WoodShare
from panel.store.casks import Cask, Filling, Make
from panel.store.engine import Store
from panel.store.lexicon import Descriptor, DescriptorVersion
from panel.store.sessions import PanelSession, SessionDescriptor
from tests.cli.calling import Call
from tests.houses.parts import add_event
from tests.release.test_release import nose_blend

BY_HAND = (
    *("release", "propose", "Spring", "--target", "Fen", "--litres", "120", "--casks", "2-5"),
    *("--abv", "46", "--old-gauges", "flag"),
)


def propose(oakpanel: Call, *casks: str) -> None:
    taken = [word for cask in casks for word in ("--take", f"{cask}=60")]
    made = oakpanel(*BY_HAND, *taken)
    assert made.code == 0, made.err


def sheet_text(oakpanel: Call) -> str:
    return " ".join(oakpanel("release", "sheet", "Spring").out.split())


def racked(store: Store, into: str, *parents: str, on: date) -> None:
    """Make a cask's filling one that came out of others on a day."""
    with store.write() as db:
        child = db.query(Filling).filter_by(label=f"{into}/1").one()
        child.make, child.filled_on, child.previous = None, on, "oloroso"
        for name in parents:
            parent = db.query(Filling).filter_by(label=f"{name}/1").one()
            add_event(db, child, EventKind.RE_RACKED, on, parent=parent, litres=40.0)


@pytest.mark.slow
def test_a_short_stay_in_a_second_wood_is_a_finish_with_its_years(
    oakpanel: Call, house: Store
) -> None:
    racked(house, "C9", "C1", "C4", on=date(2024, 9, 14))
    propose(oakpanel, "C9", "C10")
    found = oakpanel("release", "sheet", "Spring", "--json").document["woods"]
    second = next(each for each in found if each["before"])
    # C4, filled in May 2011, is the younger of the two: 13.4 years before the re-rack.
    assert (second["finish"], second["previous"]) == (True, "oloroso")
    assert second["years"] == pytest.approx(1.5, abs=0.01)
    assert second["years_before"] == pytest.approx(13.37, abs=0.01)
    assert "a finish of 1.5 years after at least 13.4 years in European oak" in sheet_text(oakpanel)


@pytest.mark.slow
def test_a_long_stay_in_a_second_wood_is_no_finish(oakpanel: Call, house: Store) -> None:
    racked(house, "C9", "C1", on=date(2018, 3, 14))
    propose(oakpanel, "C9", "C10")
    text = sheet_text(oakpanel)
    assert "a finish of" not in text
    assert "where it lay its last 8.0 years after at least 7.9 years in European oak" in text


@pytest.mark.parametrize(
    ("years", "before", "finish"),
    [
        (1.5, 10.0, True),
        (3.0, 10.0, True),
        (3.1, 10.0, False),
        (2.0, 1.5, False),
        (2.0, None, True),
    ],
)
def test_what_counts_as_a_finish(years: float, before: float | None, finish: bool) -> None:
    # Common practice, no source: months to about three years in the last wood.
    assert WoodShare("oak", None, 50.0, 1, ("ash",), years, before).finish is finish
    assert not WoodShare("oak", None, 50.0, 1).finish


def test_one_make_is_named_though_its_casks_were_re_racked(oakpanel: Call, house: Store) -> None:
    racked(house, "C4", "C1", "C2", on=date(2024, 9, 14))
    assert "C4/1: Sallow plain, " in oakpanel("cask", "C4").out
    assert oakpanel("cask", "C4", "--json").document["fillings"][0]["makes"] == ["Sallow plain"]
    racked(house, "C9", "C1", "C7", on=date(2024, 9, 14))
    assert "C9/1: spirit of several makes, " in oakpanel("cask", "C9").out


@pytest.mark.slow
def test_what_lay_in_another_wood_than_oak_is_called_no_category(
    oakpanel: Call, house: Store
) -> None:
    """Chestnut is no oak, and the set in force asks for it; a name without a wood is looked at."""
    with house.write() as db:
        db.query(Cask).filter_by(number="C4").one().wood = "chestnut hogshead"
        db.query(Cask).filter_by(number="C10").one().wood = "refill butt"
    taken = ("--take", "C4=60", "--take", "C10=60", "--json")
    checks = oakpanel(*BY_HAND, *taken).document["checks"]
    assert any("By the records not of oak, as Scotch whisky asks" in each for each in checks)
    assert any("C4 (chestnut hogshead)" in each for each in checks)
    assert any(each.endswith("so look at them: refill butt.") for each in checks)
    found = oakpanel("release", "sheet", "Spring", "--json").document
    assert found["category"] is None
    assert "chestnut hogshead is not of oak" in sheet_text(oakpanel)
    assert "by that it is" not in sheet_text(oakpanel)


def test_the_sheet_names_makes_and_what_they_make_it(oakpanel: Call) -> None:
    propose(oakpanel, "C4", "C10")
    found = oakpanel("release", "sheet", "Spring", "--json").document
    assert (found["makes"], found["sites"]) == (["Sallow plain", "Sallow smoky"], ["Sallow Weir"])
    assert found["category"] == "single malt"
    assert "by that it is single malt whisky" in sheet_text(oakpanel)


@pytest.mark.parametrize(
    ("makes", "category"),
    [
        ([("Weir", "barley"), ("Weir", "Malted barley")], "single malt"),
        ([("Weir", "barley"), ("Fen", "barley")], "blended malt"),
        ([("Weir", "wheat")], "single grain"),
        ([("Weir", "wheat"), ("Fen", "maize")], "blended grain"),
        ([("Weir", "barley"), ("Weir", "wheat")], "blended"),
        ([("Weir", "barley"), ("Fen", "wheat")], "blended"),
    ],
)
def test_the_category_comes_from_sites_and_cereals(
    store: Store, makes: list[tuple[str, str]], category: str
) -> None:
    # Source: Scotch Whisky Regulations 2009, regulation 3, from memory.
    names = [f"make {number}" for number in range(len(makes))]
    with store.write() as db:
        for name, (site, cereal) in zip(names, makes, strict=True):
            db.add(Make(name=name, site=site, cereal=cereal, phenol_ppm=0.0))
    with store.read() as db:
        assert category_of(db, [frozenset({name}) for name in names]).name == category
        unknown = category_of(db, [frozenset(names), None])
        assert unknown.name is None
        assert unknown.reason == "the make of a part is not on record"


@pytest.mark.slow
def test_house_words_come_with_their_meaning(oakpanel: Call, house: Store) -> None:
    with house.write() as db:
        word = db.scalars(select(Descriptor).where(Descriptor.name == "ember")).one()
        word.versions[-1].meaning = "coals an hour after the fire."
    propose(oakpanel, "C4", "C10")
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (40.0, 24.0, 44.0))
    claims = oakpanel("release", "sheet", "Spring", "--json").document["claims"]
    assert {each["note"]: each["meaning"] for each in claims}["ember"].startswith("coals an hour")
    assert ": coals an hour after the fire)" in sheet_text(oakpanel)


@pytest.mark.slow
def test_a_note_that_its_session_did_not_score_is_no_claim(oakpanel: Call, house: Store) -> None:
    propose(oakpanel, "C4", "C10")
    oakpanel("release", "bench", "Spring")
    nose_blend(house, "Spring-B1", (40.0, 24.0, 44.0))
    with house.write() as db:
        session = db.scalars(select(PanelSession).where(PanelSession.name == "EV-Spring-B1")).one()
        ember = select(DescriptorVersion.id).join(Descriptor).where(Descriptor.name == "ember")
        db.execute(
            delete(SessionDescriptor).where(
                SessionDescriptor.session_id == session.id,
                SessionDescriptor.descriptor_version_id.in_(ember),
            )
        )
    claims = oakpanel("release", "sheet", "Spring", "--json").document["claims"]
    assert "ember" not in {each["note"] for each in claims}
    assert all(each["sessions"] == ["EV-Spring-B1"] for each in claims)


@pytest.mark.slow
def test_a_cask_topped_after_the_proposal_takes_the_age_off_the_sheet(
    oakpanel: Call, house: Store
) -> None:
    propose(oakpanel, "C4", "C10")
    before = oakpanel("release", "sheet", "Spring", "--json").document["youngest_years"]
    assert before == 11
    with house.write() as db:
        own = db.query(Filling).filter_by(label="C4/1").one()
        add_event(db, own, EventKind.TOPPED, date(2026, 3, 14), litres=4.0, abv=60.0)
    assert oakpanel("release", "sheet", "Spring", "--json").document["youngest_years"] is None
    assert "Age: none may be told" in sheet_text(oakpanel)

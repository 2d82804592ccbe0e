"""A cask topped after it was nosed: its age, its strength and its profile are no longer what
they were, and every answer says so."""

from __future__ import annotations

from datetime import date

import pytest

from panel.kinds import EventKind
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.filling_states import filling_states
from panel.store.lexicon import DescriptorVersion
from tests.cli.calling import Call
from tests.houses.nosed import LEVELS, TODAY, add_evening
from tests.houses.parts import add_draw, add_event

ON = date(2026, 2, 1)
AGAIN = "nosed before its topping of 2026-02-01: draw it again"
LIMITS = ("--litres", "350", "--casks", "2-5", "--old-gauges", "flag")


@pytest.fixture
def topped(house: Store) -> Store:
    """C8, filled in 2013, got 4 L of C10, filled in 2014."""
    with house.write() as db:
        own, parent = (db.query(Filling).filter_by(label=name).one() for name in ("C8/1", "C10/1"))
        add_event(db, own, EventKind.TOPPED, ON, parent=parent, litres=4.0)
    return house


@pytest.fixture
def of_no_record(house: Store) -> Store:
    """C8 got 4 L of which nobody wrote down where they came from."""
    with house.write() as db:
        own = db.query(Filling).filter_by(label="C8/1").one()
        add_event(db, own, EventKind.TOPPED, ON, litres=4.0, abv=60.0)
    return house


@pytest.mark.slow
@pytest.mark.usefixtures("topped")
def test_it_is_not_ranked_on_what_was_nosed_before(oakpanel: Call) -> None:
    for leave in ((), ("--with-held",)):
        found = oakpanel("match", "Fen", *leave, "--json").document
        assert "C8" not in {each["cask"] for each in found["casks"]}
        assert {"cask": "C8", "sample": "D-C8", "reason": AGAIN} in found["left_out"]


@pytest.mark.slow
@pytest.mark.usefixtures("topped")
def test_no_vatting_rests_on_it_unless_it_is_named(oakpanel: Call) -> None:
    for leave in ((), ("--with-held",)):
        found = oakpanel("vat", "Fen", *LIMITS, *leave, "--quick", "--json").document
        assert found["barred"] == {"nosed before its topping": 1}
    named = ("--with", "C8")
    found = oakpanel("vat", "Fen", *LIMITS, *named, "--quick", "--json").document
    part = next(each for each in found["parts"] if each["cask"] == "C8")
    assert part["note"].endswith("; nosed before its topping of 2026-02-01")


@pytest.mark.usefixtures("topped")
def test_the_profile_says_that_it_was_drawn_before(oakpanel: Call) -> None:
    found = oakpanel("profile", "C8", "--json").document
    assert found["nosed_before_topping"] == [{"sample": "D-C8", "topped_on": "2026-02-01"}]
    said = " ".join(oakpanel("profile", "C8").out.split())
    assert "its cask was topped on 2026-02-01, after this was drawn: draw it again" in said
    assert oakpanel("profile", "C7", "--json").document["nosed_before_topping"] == []


@pytest.mark.usefixtures("topped")
def test_no_target_is_made_like_it_unasked(oakpanel: Call) -> None:
    refused = oakpanel("target", "make", "As C8", "--like-cask", "C8")
    assert refused.code == 1
    assert "Cask C8 was nosed before its topping of 2026-02-01: draw it again." in " ".join(
        refused.err.split()
    )


@pytest.mark.slow
def test_drawn_and_nosed_again_it_is_ranked_by_the_new_draw(oakpanel: Call, topped: Store) -> None:
    with topped.write() as db:
        own = db.query(Filling).filter_by(label="C8/1").one()
        draws = [db.query(Draw).filter_by(label=name).one() for name in ("D-C7", "D-C9")]
        draws.append(add_draw(db, "D-C8 new", own, drawn_on=date(2026, 2, 10), abv=59.0))
        db.flush()
        words = db.query(DescriptorVersion).order_by(DescriptorVersion.id).all()
        add_evening(db, "EV3", date(2026, 2, 20), draws, words, LEVELS, seed=3)
    found = oakpanel("match", "Fen", "--json").document
    assert "C8" in {each["cask"] for each in found["casks"]}
    assert not any(each["cask"] == "C8" for each in found["left_out"])


@pytest.mark.slow
@pytest.mark.usefixtures("of_no_record")
def test_an_age_statement_refuses_an_age_that_is_not_on_record(oakpanel: Call) -> None:
    named = ("--with", "C8", "--age", "10")
    refused = oakpanel("vat", "Fen", *LIMITS, *named, "--quick")
    assert refused.code == 1
    assert "without a recorded age" in " ".join(refused.err.split())


@pytest.mark.usefixtures("of_no_record")
def test_the_page_of_the_cask_has_no_age_and_says_why_it_is_not_used(oakpanel: Call) -> None:
    found = oakpanel("cask", "C8", "--json").document
    assert found["fillings"][0]["age_years"] is None
    assert found["fillings"][0]["topped_on"] == "2026-02-01"
    assert AGAIN in found["flags"]
    assert "age not on record" in oakpanel("cask", "C8").out
    assert oakpanel("cask").code == 0


@pytest.mark.usefixtures("of_no_record")
def test_the_sheet_claims_no_age_for_it(oakpanel: Call) -> None:
    by_hand = ("--target", "Fen", "--litres", "200", "--casks", "2-5", "--abv", "46")
    oakpanel("rules", "set", "Scotch whisky", "off")
    taken = ("--take", "C8=100", "--take", "C9=100", "--with", "C8")
    made = oakpanel("release", "propose", "Spring", *by_hand, *taken, "--old-gauges", "flag")
    assert made.code == 0, made.err
    sheet = oakpanel("release", "sheet", "Spring", "--json")
    assert sheet.document["youngest_years"] is None


def test_a_draw_after_a_topping_has_the_strength_of_the_mix(topped: Store) -> None:
    with topped.read() as db:
        state = next(each for each in filling_states(db, TODAY) if each.cask == "C8")
    # 117 L at 60 % in 2013, less .2 L drawn, and 4 L at 60 %.
    assert state.bulk_l == pytest.approx(117 - 0.2 + 4)
    assert state.content_on(ON).abv == pytest.approx(60.0)

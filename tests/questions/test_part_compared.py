"""Sessions that share no glass: every question keeps to one part of the stock, and says so."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from sqlalchemy import update
from sqlalchemy.orm import Session

from analysis import notebook
from analysis.ageing import Asked
from analysis.profile import Profile
from analysis.vatting import Drawing, Limits, LimitsError
from panel.frames import scores_frame, stock_frame, target_of
from panel.frames.draws import draws_frame
from panel.kinds import DrawKind, EventKind
from panel.questions.ageing import ageing_of
from panel.questions.influences import influences_of
from panel.questions.matching import target_match
from panel.questions.profile import house_profile
from panel.questions.vatting import house_vatting
from panel.store.casks import Filling
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from tests.houses.nosed import LEVELS, TODAY, add_evening, build_nosed, gauge_all
from tests.houses.parts import add_event, add_filling, add_make, add_regauge

NEW = [f"N{number}" for number in range(1, 11)]
LIKE = dict(zip(NEW, LEVELS.values(), strict=True))


def nose_apart(db: Session, casks: list[str], held_on: date) -> None:
    """Ten or fewer other casks, nosed in an evening that shares no glass with the others."""
    make = add_make(db, "Sallow new")
    draws = []
    for cask in casks:
        filling = add_filling(db, cask, make, filled_on=date(2011, 5, 1), fill_bulk_l=100.0)
        add_regauge(db, filling, date(2026, 3, 1), 100.0, 60.0)
        draws.append(draw_of(filling, f"D-{cask}", held_on))
    db.add_all(draws)
    db.flush()
    add_evening(db, "EV3", held_on, draws, db.query(DescriptorVersion).all(), LIKE, seed=3)


def draw_of(filling: Filling, label: str, drawn_on: date) -> Draw:
    return Draw(
        label=label, kind=DrawKind.CASK, filling=filling, drawn_on=drawn_on, abv=58.0, volume_ml=200
    )


def nose_again(db: Session, cask: str, held_on: date) -> None:
    """A later draw of one cask, alone in an evening of its own."""
    filling = db.query(Filling).filter_by(label=f"{cask}/1").one()
    again = draw_of(filling, f"D2-{cask}", held_on)
    db.add(again)
    db.flush()
    words = db.query(DescriptorVersion).all()
    add_evening(db, "EV4", held_on, [again], words, {**LEVELS, **LIKE}, seed=4)


@pytest.fixture
def house(store: Store) -> Store:
    """Ten casks of two evenings, ten others of a third, and a later glass of one of these."""
    build_nosed(store)
    gauge_all(store)
    with store.write() as db:
        nose_apart(db, NEW, date(2026, 1, 20))
        nose_again(db, "N4", date(2026, 2, 10))
    return store


def ranked(db: Session, profile: Profile) -> set[str]:
    return {part.cask for part in target_match(db, "Fen", as_of=TODAY, profile=profile).casks}


@pytest.mark.slow
def test_match_and_vat_keep_to_the_same_casks_and_say_what_is_left_out(house: Store) -> None:
    with house.read() as db:
        profile = house_profile(db, as_of=TODAY)
        found = target_match(db, "Fen", as_of=TODAY, profile=profile)
        vat = house_vatting(
            db, "Fen", Limits(litres=150, drawing=Drawing.PART), as_of=TODAY, profile=profile
        )
    assert {part.cask for part in found.casks} == set(NEW)
    assert {part.cask for part in found.left_out} == set(LEVELS)
    assert {part.cask for part in vat.plan.mixture.parts} <= set(NEW)
    for said in (found.note or "", " ".join(vat.checks)):
        assert "keeps to the 10 casks of session EV3: of the parts with most casks" in said
        assert "10 casks are left out of it (C1, C10, C2, C3 and 6 more)" in said
        assert "Of N4 an earlier draw stands" in said
        assert "Pour the house reference or a returning cask" in said


@pytest.mark.slow
def test_a_cask_that_is_ranked_may_be_asked_for_and_one_apart_is_refused_by_its_reason(
    house: Store,
) -> None:
    with house.read() as db:
        profile = house_profile(db, as_of=TODAY)
        asked = Limits(litres=150, drawing=Drawing.PART, must_include=("N4",))
        vat = house_vatting(db, "Fen", asked, as_of=TODAY, profile=profile)
        assert "N4" in {part.cask for part in vat.plan.mixture.parts}
        apart = Limits(litres=150, drawing=Drawing.PART, must_include=("C4",))
        with pytest.raises(LimitsError, match="where no glass is shared with the casks compared"):
            house_vatting(db, "Fen", apart, as_of=TODAY, profile=profile)


@pytest.mark.slow
def test_a_cask_that_may_not_be_used_does_not_count(house: Store) -> None:
    """One of the newer ten leaks: the older part has more that may be used."""
    with house.write() as db:
        filling = db.query(Filling).filter_by(label="N1/1").one()
        add_event(db, filling, EventKind.LEAK_FOUND, TODAY - timedelta(days=1))
    with house.read() as db:
        profile = house_profile(db, as_of=TODAY)
        assert ranked(db, profile) == set(LEVELS)
        assert "keeps to the 10 casks of sessions EV1 and EV2: the part" in (profile.note or "")


@pytest.mark.slow
def test_a_kept_fit_keeps_no_part_that_is_compared_no_more(house: Store) -> None:
    """No fit hangs on what may be used: it is read again, and another part stands first."""
    with house.read() as db:
        assert ranked(db, house_profile(db, as_of=TODAY)) == set(NEW)
        before = influences_of(db, as_of=TODAY, descriptors=("ember",)).to_dict()["warnings"]
    with house.write() as db:
        filling = db.query(Filling).filter_by(label="N1/1").one()
        add_event(db, filling, EventKind.LEAK_FOUND, TODAY - timedelta(days=1))
    with house.read() as db:
        profile = house_profile(db, as_of=TODAY)
        assert ranked(db, profile) == set(LEVELS)
        after = influences_of(db, as_of=TODAY, descriptors=("ember",)).to_dict()["warnings"]
    assert any("session EV3" in said for said in before)
    assert any("sessions EV1 and EV2" in said for said in after)


@pytest.mark.slow
def test_a_notebook_keeps_to_the_same_part(house: Store) -> None:
    with house.write() as db:
        filling = db.query(Filling).filter_by(label="N1/1").one()
        add_event(db, filling, EventKind.LEAK_FOUND, TODAY - timedelta(days=1))
    with house.read() as db:
        scores = scores_frame(db, as_of=TODAY, revealed_only=True)
        stock = stock_frame(db, TODAY).assign(stock_on=TODAY)
        drawn, target = draws_frame(db, TODAY), target_of(db, "Fen")
    profile = notebook.estimate_profile(scores)
    assert profile.compared is not None
    assert profile.compared.sessions == ("EV3",), "without a stock every cask counts"
    found = notebook.match(profile, target, stock, drawn)
    assert {part.cask for part in found.casks} == set(LEVELS)


@pytest.mark.slow
def test_draws_without_a_day_go_by_the_day_they_were_nosed_everywhere(store: Store) -> None:
    """As of scores that brought their samples: influences reckons with what match moves by."""
    build_nosed(store)
    gauge_all(store)
    with store.write() as db:
        db.execute(update(Draw).values(drawn_on=None))
    with store.read() as db:
        profile = house_profile(db, as_of=TODAY)
        found = target_match(db, "Fen", as_of=TODAY, profile=profile)
        vat = house_vatting(db, "Fen", Limits(litres=150), as_of=TODAY, profile=profile)
        what = influences_of(db, as_of=TODAY, descriptors=("ember",), profile=profile)
        frame = draws_frame(db, TODAY)
    assert {part.drawn_on for part in found.casks} == {date(2026, 1, 2)}
    assert frame["age_years"].min() == pytest.approx(11.67, abs=0.01)
    for said in (found.note or "", " ".join(vat.checks), " ".join(what.to_dict()["warnings"])):
        assert "Of 10 draws the day is not on record: the day they were nosed last stands" in said
        assert "Load draws with `drawn_on`" in said


def test_what_grows_with_age_is_told_with_what_it_leaves_out(house: Store) -> None:
    with house.read() as db:
        found = ageing_of(db, as_of=TODAY, asked=Asked(descriptors=("ember",)))
    assert any("casks are left out of it" in said for said in found.to_dict()["warnings"])

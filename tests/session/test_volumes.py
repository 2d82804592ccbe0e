"""What is left in a sample's bottle, for the plan and for the register alike."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import ServingStatus
from panel.questions.register import RegisterLine, sample_register
from panel.session.marks import mark_glass
from panel.session.plan import plan_session
from panel.session.seal import seal_session
from panel.session.stages import close_session, open_session, reveal_session
from panel.session.volumes import Poured, poured_of, volume_of
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from tests.houses.to_plan import plan

ON = date(2026, 4, 1)


def test_water_makes_more_of_a_draw_than_was_drawn() -> None:
    # OIML R 22: pure alcohol stays, so volumes go as the strengths, whatever the water shrinks.
    assert volume_of(400.0, 60.0, 20.0).left_ml == pytest.approx(1200.0)
    assert volume_of(400.0, 60.7, 20.0).left_ml == pytest.approx(1214.0)
    assert volume_of(400.0, 60.0, None).left_ml == 400.0
    assert volume_of(400.0, None, 20.0).left_ml is None
    assert volume_of(None, 60.0, 20.0).left_ml is None


def test_what_was_poured_is_taken_off_in_the_measure_of_the_bottle() -> None:
    poured = [Poured("EV1", 300.0, 20.0), Poured("EV2", 60.0, 20.0)]
    # At 60 % a third of each glass is spirit; once reduced all of it comes out of the bottle.
    assert volume_of(400.0, 60.0, None, poured).left_ml == pytest.approx(400 - 120)
    assert volume_of(400.0, 60.0, 20.0, poured).left_ml == pytest.approx(1200 - 360)
    assert volume_of(100.0, 60.0, None, [Poured("EV1", 900.0, 20.0)]).left_ml == 0.0
    assert volume_of(400.0, 60.0, None, poured).sessions == ("EV1", "EV2")


def change(store: Store, **values: float) -> None:
    with store.write() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        for name, value in values.items():
            setattr(draw, name, value)


def planned(store: Store, now: datetime, name: str) -> tuple[float | None, float, list[str]]:
    """Plan a session: what is left of D1, what it takes, and what is said of it."""
    with store.write() as db:
        # Which draw is doubled is drawn by lot: none is, so that what is taken is known.
        summary = plan_session(db, plan(name=name, duplicates=()), now=now, by="L1")
    need = next(each for each in summary.draws if each.draw == "D1")
    said = [warning for warning in summary.warnings if warning.startswith("D1 has")]
    return need.left_ml, need.spirit_ml or 0.0, said


def line(store: Store) -> RegisterLine:
    with store.read() as db:
        lines = sample_register(db, as_of=ON).lines
    return next(each for each in lines if each.sample == "D1")


def test_a_reduced_draw_is_not_said_to_be_short(house: Store, fixed_now: datetime) -> None:
    change(house, volume_ml=180.0, abv=60.0, reduced_to=20.0)
    left, _, said = planned(house, fixed_now, "spring")
    assert left == pytest.approx(540.0)
    assert said == []
    assert line(house).millilitres == 180.0
    assert line(house).bottle_ml == pytest.approx(540.0)
    assert line(house).lpa == pytest.approx(0.18 * 0.6)


def test_a_second_session_has_what_the_first_left(house: Store, fixed_now: datetime) -> None:
    change(house, volume_ml=120.0, abv=60.0)
    _, takes, said = planned(house, fixed_now, "spring")
    assert said == []
    with house.write() as db:
        seal_session(db, "spring", now=fixed_now, by="L1")
    left, _, said = planned(house, fixed_now, "again")
    assert left == pytest.approx(120.0 - takes)
    assert said[0].startswith(f"D1 has {120.0 - takes:.0f} mL after spring; the session takes")


@pytest.mark.slow
def test_register_and_plan_agree_on_what_is_left(house: Store, fixed_now: datetime) -> None:
    _, takes, _ = planned(house, fixed_now, "spring")
    assert line(house).left_ml == 400.0  # a draft has poured nothing
    for step in (seal_session, open_session, close_session, reveal_session):
        with house.write() as db:
            step(db, "spring", now=fixed_now, by="L1")
    left, _, _ = planned(house, fixed_now, "again")
    assert line(house).left_ml == left == pytest.approx(400.0 - takes)
    assert line(house).poured_ml == pytest.approx(takes)


def test_the_register_does_not_tell_the_key_of_a_glass_poured_again(
    house: Store, fixed_now: datetime
) -> None:
    """What a second pouring of a code took off a sample would name that sample."""
    planned(house, fixed_now, "spring")
    for step in (seal_session, open_session):
        with house.write() as db:
            step(db, "spring", now=fixed_now, by="L1")
    with house.read() as db:
        before = sample_register(db, as_of=ON)
        code = db.scalars(select(KeyRow).where(KeyRow.draw.has(label="D1"))).first()
    assert before.not_counted == ("spring",)
    assert code is not None
    with house.write() as db:
        again = ServingStatus.RE_POURED
        mark_glass(db, "spring", "A1", code.code, again, now=fixed_now, by="L1")
    with house.read() as db:
        assert sample_register(db, as_of=ON) == before


def test_a_plan_does_not_tell_the_key_of_a_sealed_session(
    house: Store, fixed_now: datetime
) -> None:
    """Neither which draw is doubled, nor what a code is that was poured again."""
    with house.write() as db:
        plan_session(db, plan(name="spring", duplicates=("D2",)), now=fixed_now, by="L1")
    for step in (seal_session, open_session):
        with house.write() as db:
            step(db, "spring", now=fixed_now, by="L1")

    with house.read() as db:
        taken = poured_of(db, every_draw(db))
        codes = {draw.label: row.code for row, draw in db.execute(select(KeyRow, Draw).join(Draw))}
    assert len({each.millilitres for (each,) in taken.values()}) == 1
    for label in ("D1", "D2"):
        with house.write() as db:
            again = ServingStatus.RE_POURED
            mark_glass(db, "spring", "A1", codes[label], again, now=fixed_now, by="L1")
        with house.read() as db:
            now_taken = poured_of(db, every_draw(db))
        assert len({each.millilitres for (each,) in now_taken.values()}) == 1
        assert now_taken != taken
        taken = now_taken


def every_draw(db: Session) -> list[int]:
    return list(db.scalars(select(Draw.id)))


def test_the_register_takes_the_strength_of_the_day_of_the_draw(house: Store) -> None:
    with house.write() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        draw.abv, draw.drawn_on = None, date(2020, 1, 1)
    # Gauged at 57 % in 2024; in 2020 nothing but the strength at filling was known.
    assert line(house).abv_percent == 63.5

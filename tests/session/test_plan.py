from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, datetime

import pytest
from sqlalchemy import func, select

from analysis.as_json import as_json
from panel.errors import PlanRefused, SessionError, WrongState
from panel.kinds import DrawKind, Manner, SessionStatus, Stage
from panel.records.settings import change_setting
from panel.session.plan import SessionPlan, lexicon_names, plan_session, summarise
from panel.session.pours import PourNeed
from panel.session.seal import seal_session
from panel.session.stages import open_session
from panel.session.summary import draw_line
from panel.store.draws import Draw, DrawPart
from panel.store.engine import Store
from panel.store.key import PlannedDraw
from panel.store.lexicon import Descriptor
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.sessions import PanelSession
from tests.houses.to_plan import CODES, HELD_ON, add_descriptor, plan


def refusal(house: Store, now: datetime, **changes: object) -> str:
    with house.write() as db, pytest.raises(PlanRefused) as refused:
        plan_session(db, plan(**changes), now=now, by="L1")
    return str(refused.value)


def warnings_of(house: Store, now: datetime, **changes: object) -> str:
    with house.write() as db:
        return " ".join(plan_session(db, plan(**changes), now=now, by="L1").warnings)


def test_a_plan_is_written_as_a_draft(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        summary = plan_session(db, plan(), now=fixed_now, by="L1")
    with house.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert session.status is SessionStatus.DRAFT
        assert [seat.person.code for seat in session.assessors] == list(CODES)
        assert summary == summarise(db, "spring")
    assert summary.glasses_an_assessor == 9  # six, a duplicate, a reference and the warm-up glass
    assert summary.flights == 1
    assert not summary.rehearsal


def test_every_fault_is_said_at_once(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        add_descriptor(db, "old straw", retired_on=date(2020, 1, 1))
        db.scalars(select(Person).where(Person.code == "A2")).one().left_on = date(2026, 1, 1)
        db.add(Draw(label="bottle", kind=DrawKind.MARKET))
    said = refusal(
        house,
        fixed_now,
        name="  ",
        assessors=("A1", "A1", "A2", "L1", "A9"),
        draws=("D1", "D1", "bottle", "R0", "D33"),
        descriptors=("wet slat", "old straw"),
        duplicates=("D2",),
        warm_up="W",
        replicates=9,
        pour_ml=500.0,
        seed=-1,
    )
    for piece in (
        "needs a name",
        "Assessor 'A1' stands twice",
        "A2 left on 2026-01-01",
        "L1 is no assessor",
        "no assessor 'A9'. Nearest: ",
        "Draw 'D1' stands twice",
        "Draw 'bottle' has no strength",
        "'R0' is both a draw to nose and the reference",
        "no draw 'D33'. Nearest: ",
        "no descriptor 'wet slat'. Nearest: wet slate",
        "'old straw' was retired on 2020-01-01",
        "The duplicate 'D2' is none of the draws",
        "no draw 'W'",
        "9 glasses of each draw",
        "pour_ml is 500",
        "The seed is -1",
    ):
        assert piece in said, piece
    with house.read() as db:
        assert db.scalar(select(func.count()).select_from(PanelSession)) == 0
        planned = LogEntry.body_json.contains("session planned")
        assert db.scalar(select(func.count()).select_from(LogEntry).where(planned)) == 0


def test_an_empty_plan_is_refused_in_words(house: Store, fixed_now: datetime) -> None:
    said = refusal(house, fixed_now, assessors=(), draws=(), descriptors=())
    assert "no assessor" in said
    assert "no draw to nose" in said
    assert "no descriptor to score" in said


def test_a_draw_taken_after_the_session_is_refused(house: Store, fixed_now: datetime) -> None:
    assert "after the session" in refusal(house, fixed_now, held_on=date(2026, 2, 1))


def test_more_than_two_flights_are_refused(house: Store, fixed_now: datetime) -> None:
    draws = tuple(f"D{n}" for n in range(1, 17))
    assert "need 3 flights" in refusal(house, fixed_now, draws=draws)


def test_two_flights_want_two_assessors(house: Store, fixed_now: datetime) -> None:
    draws = tuple(f"D{n}" for n in range(1, 11))
    assert "second assessor" in refusal(house, fixed_now, draws=draws, assessors=("A1",))


def test_eleven_descriptors_want_insistence_and_say_the_minutes(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        for number in range(9):
            add_descriptor(db, f"word {number}")
        names = lexicon_names(db, Manner.NOSE, HELD_ON)
    # 9 glasses x 13 lines x 8 s
    assert "16 minutes" in refusal(house, fixed_now, descriptors=names)
    assert "13 descriptors" in warnings_of(house, fixed_now, descriptors=names, insist=True)


def test_the_lexicon_leaves_out_retired_words_and_a_nosing_what_is_tasted(house: Store) -> None:
    with house.write() as db:
        add_descriptor(db, "old straw", retired_on=date(2020, 1, 1))
        add_descriptor(db, "long warmth", stage=Stage.FINISH)
        nosed = lexicon_names(db, Manner.NOSE, HELD_ON)
        tasted = lexicon_names(db, Manner.TASTE, HELD_ON)
    assert set(tasted) - set(nosed) == {"long warmth"}
    assert "old straw" not in tasted


def test_a_word_counts_from_the_day_it_comes_in(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        add_descriptor(db, "new rope")
        found = db.scalars(select(Descriptor).where(Descriptor.name == "new rope")).one()
        found.versions[0].introduced_on = date(2026, 3, 21)
        db.flush()
        assert "new rope" not in lexicon_names(db, Manner.NOSE, HELD_ON)
        assert "new rope" in lexicon_names(db, Manner.NOSE, date(2026, 3, 21))
    assert "after the session" in refusal(house, fixed_now, descriptors=("new rope",))


@pytest.mark.slow
def test_tasting_beyond_the_cap_is_refused(house: Store, fixed_now: datetime) -> None:
    # 14 glasses of 20 mL at 20 % vol hold 14 x 3.157 g; a fifth of that counts, 8.8 g (cap 8 g).
    many = {"draws": tuple(f"D{n}" for n in range(1, 10)), "manner": Manner.TASTE}
    assert "8.2 g of ethanol" in refusal(house, fixed_now, **many)
    assert not refused_for_dose(house, fixed_now, pour_ml=10.0, **many)


def refused_for_dose(house: Store, now: datetime, **changes: object) -> bool:
    with house.write() as db:
        plan_session(db, plan(**changes), now=now, by="L1")
    return False


def test_what_would_be_swallowed_has_a_cap_of_its_own(house: Store, fixed_now: datetime) -> None:
    """Seven glasses of 50 mL at 40 % vol hold 7 x 15.78 g, whatever is counted as spat."""
    strong = {"draws": ("D1", "D2", "D3", "D4"), "manner": Manner.TASTE, "nosing_abv": 40.0}
    with house.write() as db:
        for name in ("dose_session_g", "dose_day_g"):
            change_setting(db, name, "40", now=fixed_now, by="L1", reason="a trial in daylight")
    said = refusal(house, fixed_now, pour_ml=50.0, **strong)
    assert "110.5 g of ethanol each, if all were swallowed; the house's cap is 24 g" in said
    assert "counted as spat" not in said
    assert not refused_for_dose(house, fixed_now, pour_ml=10.0, **strong)


def test_another_tasting_of_the_day_is_looked_at_when_it_is_sealed_and_when_a_date_moves(
    house: Store, fixed_now: datetime
) -> None:
    noon = {"manner": Manner.TASTE, "draws": ("D1", "D2", "D3", "D4")}
    with house.write() as db:
        for name, held_on in (("one", HELD_ON), ("two", HELD_ON), ("three", date(2026, 3, 21))):
            plan_session(db, plan(name=name, held_on=held_on, **noon), now=fixed_now, by="L1")
        seal_session(db, "one", now=fixed_now, by="L1")
        seal_session(db, "three", now=fixed_now, by="L1")
    over = "With 22.1 g from other tastings that day A1 would come to 44.2 g"
    with pytest.raises(PlanRefused, match=over), house.write() as db:
        seal_session(db, "two", now=fixed_now, by="L1")
    with pytest.raises(SessionError, match=over), house.write() as db:
        open_session(db, "three", now=fixed_now, by="L1", held_on=HELD_ON)
    with house.write() as db:
        open_session(db, "three", now=fixed_now, by="L1")


def test_tastings_of_one_day_add_up(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        change_setting(db, "dose_day_g", "8", now=fixed_now, by="L1")
        morning = plan(name="morning", manner=Manner.TASTE, draws=("D1", "D2", "D3", "D4"))
        plan_session(db, morning, now=fixed_now, by="L1")
        seal_session(db, "morning", now=fixed_now, by="L1")
    evening = {"name": "evening", "manner": Manner.TASTE, "draws": ("D5", "D6", "D7", "D8")}
    assert "from other tastings that day A1" in refusal(house, fixed_now, **evening)
    with house.write() as db:
        next_day = plan(**evening, held_on=date(2026, 3, 21))
        assert plan_session(db, next_day, now=fixed_now, by="L1").spat_grams > 0


@pytest.mark.parametrize(
    ("changes", "piece"),
    [
        ({"reference": None}, "without a reference in common cannot be linked"),
        ({"duplicates": ()}, "no draw is poured twice"),
        ({"seed": 5}, "this is a rehearsal"),
        ({"assessors": ("A1", "A2")}, "with 2 assessors"),
        ({"draws": ("D1", "D15")}, "different peat"),
        ({"warm_up": "R0"}, "the warm-up glass holds the reference"),
    ],
)
def test_what_limits_a_session_is_said(
    house: Store, fixed_now: datetime, changes: dict[str, object], piece: str
) -> None:
    assert piece in warnings_of(house, fixed_now, **changes)


@pytest.mark.parametrize(
    ("change", "piece"),
    [
        (lambda draw: setattr(draw.filling, "hold_reason", "musty"), "4001/1 is on hold (musty)"),
        (lambda draw: setattr(draw, "volume_ml", 60.0), "D1 has 60 mL"),
        (lambda draw: setattr(draw, "reduced_to", 15.0), "poured as it is"),
    ],
)
def test_what_is_odd_about_a_draw_is_said_but_allowed(
    house: Store, fixed_now: datetime, change: Callable[[Draw], None], piece: str
) -> None:
    with house.write() as db:
        change(db.scalars(select(Draw).where(Draw.label == "D1")).one())
    assert piece in warnings_of(house, fixed_now)


def test_a_lead_who_assesses_is_told(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        summary = plan_session(db, plan(), now=fixed_now, by="A1")
    assert "A1 plans and assesses" in " ".join(summary.warnings)


def need(house: Store, now: datetime, label: str, **changes: object) -> dict[str, object]:
    with house.write() as db:
        summary = plan_session(db, plan(**changes), now=now, by="L1")
    found: dict[str, object] = as_json(next(one for one in summary.draws if one.draw == label))
    return found


def test_the_measured_strength_of_a_draw_wins(house: Store, fixed_now: datetime) -> None:
    found = need(house, fixed_now, "D1")
    assert found["abv_percent"] == 58.0
    # 20 mL of 58 % vol take 38.26 mL of water to 20 % (by the formula of OIML R 22, 1975).
    assert found["spirit_ml_a_glass"] == pytest.approx(20 * 20 / 58)
    assert found["water_ml_a_glass"] == pytest.approx(38.26 * 20 / 58, abs=0.01)


def test_without_a_measurement_the_last_regauge_before_the_draw_counts(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        db.scalars(select(Draw).where(Draw.label == "D1")).one().abv = None
    found = need(house, fixed_now, "D1")
    assert found["abv_percent"] == 57.0
    assert "regauge of 2024-05-01" in str(found["strength"])


def test_without_a_regauge_the_strength_at_filling_counts_and_is_called_old(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        draw = db.scalars(select(Draw).where(Draw.label == "D1")).one()
        draw.abv = None
        assert draw.filling is not None
        db.delete(draw.filling.regauges[0])
    assert "strength of D1 is old: 63.5 % vol (at filling of 2012-05-01)" in warnings_of(
        house, fixed_now
    )


def test_a_trial_vatting_is_reckoned_from_its_parts(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        one, two = (db.scalars(select(Draw).where(Draw.label == f"D{n}")).one() for n in (1, 15))
        assert one.filling_id is not None
        assert two.filling_id is not None
        parts = [
            DrawPart(filling_id=one.filling_id, millilitres=50.0),
            DrawPart(filling_id=two.filling_id, millilitres=50.0),
        ]
        db.add(Draw(label="T1", kind=DrawKind.TRIAL, parts=parts))
    found = need(house, fixed_now, "T1", draws=("T1", "D2"))
    assert found["abv_percent"] == pytest.approx(57.0)
    assert found["kind"] == "trial"
    assert found["phenol_ppm"] == pytest.approx(20.5)


def test_the_pause_is_one_for_the_evening_by_its_smokiest_glass(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        assert plan_session(db, plan(), now=fixed_now, by="L1").pause_s == 60
        smoky = plan(draws=("D1", "D16"))
        assert plan_session(db, smoky, now=fixed_now, by="L1").pause_s == 180
        own = plan(draws=("D1", "D16"), pause_s=0)
        assert plan_session(db, own, now=fixed_now, by="L1").pause_s == 0


@pytest.mark.slow
def test_minutes_count_lines_pauses_and_the_break(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        one = plan_session(db, plan(), now=fixed_now, by="L1")
        draws = tuple(f"D{n}" for n in range(1, 13))
        two = plan_session(db, plan(name="long", draws=draws), now=fixed_now, by="L1")
    assert one.minutes == pytest.approx((9 * 4 * 8 + 8 * 60) / 60)
    assert two.minutes == pytest.approx((16 * 4 * 8 + 14 * 60) / 60 + 60)


def test_a_draft_gives_way_to_a_new_one_but_a_sealed_session_does_not(
    house: Store, fixed_now: datetime
) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        plan_session(db, plan(draws=("D1", "D2")), now=fixed_now, by="L1")
        assert db.scalar(select(func.count()).select_from(PlannedDraw)) == 4
        seal_session(db, "spring", now=fixed_now, by="L1")
        with pytest.raises(WrongState, match="can no longer change"):
            plan_session(db, plan(), now=fixed_now, by="L1")


@pytest.mark.slow
def test_the_duplicate_is_the_one_asked_for_or_drawn(house: Store, fixed_now: datetime) -> None:
    def poured_twice(**changes: object) -> list[str]:
        with house.write() as db:
            summary = plan_session(db, plan(**changes), now=fixed_now, by="L1")
        return [n.draw for n in summary.draws if n.glasses_a_tray == 2]

    assert poured_twice(duplicates=("D3",)) == ["D3"]
    assert poured_twice(duplicates=()) == []
    assert poured_twice(draws=("D1", "D2", "D3"), duplicates=("D3", "D1")) == ["D1", "D3"]
    two = {"duplicates": ("auto", "auto"), "reference": None}
    assert {len(poured_twice(**two, seed=seed)) for seed in range(6)} == {2}
    assert "D2" in poured_twice(duplicates=("D2", "auto"))
    assert len({poured_twice(seed=seed)[0] for seed in range(12)}) > 2
    assert len(poured_twice(replicates=2, draws=("D1", "D2", "D3"))) == 3


def test_the_plan_says_the_ethanol_and_the_cautions(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        summary = plan_session(
            db, plan(manner=Manner.TASTE, draws=("D1", "D2")), now=fixed_now, by="L1"
        )
    # five glasses of 20 mL at 20 % vol: 5 x 20 x 0.20 x 0.78924 g
    assert summary.swallowed_grams == pytest.approx(15.78, abs=0.01)
    assert summary.spat_grams == pytest.approx(summary.swallowed_grams / 5)
    text = "\n".join(summary.lines())
    assert "15.8 g" in text
    assert "Do not drive" in text


def test_a_default_plan_is_as_written() -> None:
    made = SessionPlan("n", ("A1",), ("D1",), ("wet slate",))
    assert made.duplicates == ("auto",)
    assert made.manner is Manner.NOSE


def test_names_reach_no_format(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        db.add(Draw(label="[/x]", kind=DrawKind.MARKET, abv=46.0))
        summary = plan_session(db, plan(draws=("[/x]", "D1")), now=fixed_now, by="L1")
    assert any(line.startswith("[/x]:") for line in summary.lines())


def test_what_a_draw_keeps_back_is_said_where_it_is_poured_as_it_is() -> None:
    """139 mL are drawn and 89 poured without water: the rest is not lost, it is kept."""
    poured = PourNeed(
        *("D1", ("C1",), "test", 1, 4, 20.0, "20 % vol", 20.0, 0.0, 89.0, 89.0, 0.0, 139.0, 1.0)
    )
    assert draw_line(poured).endswith("; 89 mL with 0 mL of water, 50 mL kept back.")
    assert draw_line(replace(poured, draw_ml=89.0)).endswith("; 89 mL with 0 mL of water.")

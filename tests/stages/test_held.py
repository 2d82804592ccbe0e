"""Sessions with stages from plan to finding, and what of them reaches the profile."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sqlalchemy import select

from panel.errors import PlanRefused
from panel.frames import scores_frame
from panel.kinds import USUAL_KIND, Manner
from panel.questions.kinds import session_answer
from panel.session.ballots import ballots
from panel.session.drafts import planned_again
from panel.session.plan import plan_session
from panel.session.progress import session_progress
from panel.session.showing import session_view
from panel.store import booth_queries as booth
from panel.store.answers import Answer
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from panel.store.sessions import Serving
from panel.words.kinds import SESSION_LINES, Part
from tests.conftest import FIXED_NOW
from tests.houses.in_sets import LEAD, opened, revealed
from tests.houses.staged import NAME, NOTE, OTHER, bursts_in, score_stages, stage_plan
from tests.houses.to_plan import WORDS, build_to_plan


@pytest.fixture
def house(store: Store) -> Store:
    build_to_plan(store)
    return store


def planned(store: Store, **changes: object) -> str:
    with store.write() as db:
        said = plan_session(db, stage_plan(**changes), now=FIXED_NOW, by=LEAD).lines()  # type: ignore[arg-type]
        db.rollback()
    return "\n".join(said)


def test_a_plan_says_how_it_is_tasted_and_what_it_can_tell(house: Store) -> None:
    said = planned(house)
    assert "Descriptors (2): wet slate, bonfire." in said
    assert "one sip of 5 to 10 mL, spat at 10 s; nothing is swallowed" in said
    assert "who score both once: a mild difference in " in said
    assert "31 people who score both samples, or 30 glasses of each" in said
    assert "short after a sip" in planned(house, pause_s=60)
    assert "It takes each assessor about" in said


def test_a_plan_that_is_none_is_refused_with_every_reason(house: Store) -> None:
    with house.write() as db:
        for version in db.scalars(select(DescriptorVersion)):
            if version.descriptor.name == "barley sugar":
                version.retired_on = FIXED_NOW.date().replace(year=2020)
    wrong = stage_plan(stages=(*WORDS, "bonfire", "fig"), manner=Manner.NOSE, pour_ml=4.0)
    with pytest.raises(PlanRefused) as refused, house.write() as db:
        plan_session(db, wrong, now=FIXED_NOW, by=LEAD)
    for said in (
        "stands twice in the plan: bonfire",
        "5 descriptors by stages: one sip carries 3 at most",
        "There is no descriptor 'fig'",
        "'barley sugar' was retired",
        "stages are scored where glasses are tasted",
        "a sip takes 5 to 10 mL",
    ):
        assert said in str(refused.value)
    with pytest.raises(PlanRefused, match="names no descriptor to score by stages"):
        planned(house, stages=())
    with pytest.raises(PlanRefused, match="go with a session of that kind"):
        planned(house, kind=USUAL_KIND)


def test_a_draft_is_planned_again_as_it_was(house: Store) -> None:
    with house.write() as db:
        plan_session(db, stage_plan(), now=FIXED_NOW, by=LEAD)
    with house.write() as db:
        again = planned_again(db, NAME)
        plan_session(db, again, now=FIXED_NOW, by=LEAD)
    assert (again.stages, again.descriptors) == ((NOTE,), (OTHER, NOTE))
    with house.read() as db:
        assert planned_again(db, NAME) == again


def test_notes_stand_in_the_order_of_the_sheet_however_they_are_scored(house: Store) -> None:
    asked = stage_plan(descriptors=(NOTE,), stages=(OTHER,))
    opened(house, asked)
    with house.write() as db:
        assert planned_again(db, NAME).descriptors == (OTHER, NOTE)
        assert session_view(db, NAME).descriptors == (OTHER, NOTE)
        page = ballots(db, NAME, now=FIXED_NOW, by=LEAD).split("\f")[0]
    scales = [line.strip().split(":")[0] for line in page.splitlines() if line.startswith("  ")]
    assert [name for name in scales if name in (NOTE, OTHER)] == [OTHER, NOTE]
    with house.write() as db:
        again = replace(planned_again(db, NAME), name="again")
        assert plan_session(db, again, now=FIXED_NOW, by=LEAD).descriptors == (OTHER, NOTE)


def test_a_booth_has_the_lines_in_the_order_of_a_glass(house: Store) -> None:
    opened(house, stage_plan())
    with house.write() as db:
        seat = booth.take_seat(db, NAME, "A1", now=FIXED_NOW)
        tray = booth.tray(db, seat)
        code = tray.glasses[0].code
        glass = booth.take_glass(db, seat, code, FIXED_NOW)
        assert booth.save_rest_zero(db, seat, glass, FIXED_NOW)
        booth.save_scores(db, seat, glass, {tray.lines[-1].version_id: 33.0}, FIXED_NOW)
    stages = ("nose", "arrival", "development", "finish")
    names = [line.name for line in tray.lines]
    assert names == [OTHER, *(f"{NOTE}, {at}" for at in stages)]
    assert tray.lines[-1].meaning.startswith("half a minute after it was spat")
    assert "nothing is swallowed" in tray.told
    with house.read() as db:
        (kept,) = (g for g in booth.kept_tray(db, seat).glasses if g.code == code)
        assert [kept.scores[line.version_id].value for line in tray.lines] == [0, 0, 0, 0, 33]
        assert {row.question for row in db.scalars(select(Answer))} == {2, 3, 4}
        seat_now = session_progress(db, NAME).seats[0]
    assert [(g.n_scored, g.n_lines) for g in seat_now.glasses if g.code == code] == [(5, 5)]


def test_only_the_stage_of_the_lexicon_is_a_score_of_the_note(house: Store) -> None:
    plan = stage_plan()
    opened(house, plan)
    score_stages(house, plan, bursts_in("D1"))
    revealed(house, plan)
    with house.read() as db:
        frame = scores_frame(db, sessions=[NAME])
        glasses = len(db.scalars(select(Serving)).all())
    assert sorted(set(frame["descriptor"])) == [NOTE, OTHER]
    assert len(frame) == 2 * glasses
    smoke = frame[frame["descriptor"] == NOTE].groupby("sample")["score"].mean()
    assert smoke.to_dict() == {"D1": 42.5, "D2": 37.5}  # the nose: its stage in the lexicon


def test_stages_are_told_after_the_reveal_beside_the_agreement(house: Store) -> None:
    plan = stage_plan()
    opened(house, plan)
    score_stages(house, plan, bursts_in("D1"))
    revealed(house, plan)
    with house.read() as db:
        found = session_answer(db, NAME)
    document = found.to_dict()
    (note,) = document["stages"]["notes"]
    assert [one["verdict"] for one in note["samples"]] == ["bursts", "lingers"]
    assert [one["verdict"] for one in note["pairs"]] == ["differ in course"]
    assert {each["descriptor"] for each in document["descriptors"]} == {NOTE, OTHER}
    lines = SESSION_LINES[plan.kind](found, Part())
    assert lines[0] == "bonfire, by stages"
    assert lines[1].startswith("DIFFER IN COURSE. Bonfire takes another course in D2 than in D1")
    assert all(len(line) <= 80 for line in lines)
    assert SESSION_LINES[plan.kind](found, Part(descriptor=NOTE))[0].startswith(NOTE)

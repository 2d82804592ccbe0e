"""Training from its beginning to the day somebody is taken in: records, frames, files, erasure."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from sqlalchemy import func, select

from analysis.training import Training as Readiness
from analysis.training import TrainingWord
from panel.errors import NotAllowed, OakpanelError, PlanRefused, WrongState
from panel.frames import scores_frame
from panel.intake.kinds import Kind
from panel.intake.loading import load_file
from panel.intake.saving import save_file
from panel.kinds import Role, SessionKind, SessionStatus
from panel.questions.agreement import session_agreement
from panel.questions.training import known_samples, training_lines, training_standing
from panel.records.erase import erase_person
from panel.records.training import begin_training, take_in
from panel.session.plan import SessionPlan, plan_session
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.lexicon import DescriptorVersion
from panel.store.log import LogEntry
from panel.store.people import Person
from panel.store.person_record import person_record
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.training import Training, assessors_for, panel_on
from panel.store.who import people_with
from panel.words.training_words import known_lines
from tests.houses.in_training import (
    BEGUN,
    EXERCISES,
    GOOD,
    NOTES,
    NOW,
    PANEL,
    POOR,
    SETS,
    TODAY,
    add_session,
    build_in_training,
)


@pytest.fixture
def house(store: Store) -> Store:
    """Both in training since the first exercise."""
    build_in_training(store)
    for code in (GOOD, POOR):
        begin(store, code)
    return store


def begin(store: Store, code: str, on: date | None = BEGUN) -> None:
    with store.write() as db:
        begin_training(db, code, begun_on=on, now=NOW, by="L1")


def standing(store: Store, code: str, as_of: date = TODAY) -> Readiness:
    with store.read() as db:
        return training_standing(db, code, as_of=as_of)


def statuses(store: Store) -> dict[str, set[str]]:
    with store.read() as db:
        frame = scores_frame(db)
    return {str(who): set(part["status"]) for who, part in frame.groupby("assessor")}


# ---------------------------------------------------------------------- how far


@pytest.mark.slow
def test_who_reads_with_the_panel_is_ready_and_who_does_not_is_not_yet(house: Store) -> None:
    good, poor = standing(house, GOOD), standing(house, POOR)
    assert (good.verdict.word, poor.verdict.word) == (TrainingWord.READY, TrainingWord.NOT_YET)
    assert good.reading.passed
    assert not poor.reading.passed
    assert [each.session for each in good.exercises] == list(EXERCISES)
    assert (good.n_told, good.n_samples) == (SETS, 6 * SETS)
    for mine, theirs in zip(good.exercises, poor.exercises, strict=True):
        assert mine.off_points is not None
        assert theirs.off_points is not None
        assert mine.off_points < theirs.off_points
        assert mine.panel_error_points == theirs.panel_error_points


def test_fewer_exercises_tell_nothing_yet_however_good(house: Store) -> None:
    found = standing(house, GOOD, as_of=date(2026, 2, 15))
    assert found.verdict.word is TrainingWord.CANNOT_TELL
    assert found.reading.passed
    assert "1 more exercise, with 6 samples that were in none of these" in found.verdict.next_action


def test_an_exercise_of_what_the_panel_never_nosed_tells_nothing(house: Store) -> None:
    with house.write() as db:
        draws = [Draw(label=f"X{n}", kind=db.scalars(select(Draw.kind)).first()) for n in range(6)]
        db.add_all(draws)
        db.flush()
        words = list(db.scalars(select(DescriptorVersion)))
        said = {draw.label: (10.0 * n, 5.0 * n) for n, draw in enumerate(draws)}
        add_session(db, "EX9", date(2026, 3, 1), draws, words, {GOOD: said})
    found = standing(house, GOOD)
    assert (found.exercises[-1].session, found.exercises[-1].n_notes) == ("EX9", 0)
    assert found.exercises[-1].reason == "the panel has nosed fewer than two of its samples"
    assert found.n_told == SETS


def test_where_everybody_had_one_order_nobody_is_judged(house: Store) -> None:
    with house.write() as db:
        for glass in db.scalars(select(Serving)):
            glass.position = int(glass.code) - 100
    found = standing(house, GOOD)
    assert found.verdict.word is TrainingWord.CANNOT_TELL
    assert "in one order" in (found.exercises[0].reason or "")


def test_a_panel_of_three_judges_nobody(house: Store) -> None:
    for code in PANEL[:3]:
        begin(house, code, date(2025, 5, 1))
    found = standing(house, GOOD)
    assert found.verdict.word is TrainingWord.CANNOT_TELL
    assert found.exercises[0].reason == "fewer than 5 assessors"


def test_that_nothing_is_known_is_said_of_the_samples_and_of_no_person() -> None:
    (said,) = known_lines(())
    assert said.startswith("No sample was scored by five of the panel")
    assert "held against them" not in said


def test_what_can_be_poured_is_what_the_panel_knows(house: Store) -> None:
    with house.read() as db:
        known = known_samples(db)
        lines = training_lines(db, as_of=TODAY)
    assert {each.n_assessors for each in known} == {len(PANEL)}
    assert len(known) == 6 * SETS
    assert [(line.person, line.n_exercises) for line in lines] == [(GOOD, SETS), (POOR, SETS)]


# ---------------------------------------------------------------------- what counts


def test_what_is_scored_in_training_counts_for_nothing_and_stays_apart(house: Store) -> None:
    assert statuses(house)[GOOD] == {"in_training"}
    assert statuses(house)[PANEL[0]] == {"kept"}
    with house.write() as db:
        done = take_in(db, GOOD, now=NOW, by="L1")
    assert done.taken_in_on == TODAY
    assert statuses(house)[GOOD] == {"in_training"}
    with house.read() as db:
        assert GOOD in {who.code for who in panel_on(db, TODAY)}
        assert POOR not in {who.code for who in panel_on(db, TODAY)}


@pytest.mark.slow
def test_a_session_after_the_day_of_taking_in_counts(house: Store) -> None:
    with house.write() as db:
        draws = list(db.scalars(select(Draw).order_by(Draw.id)))[:6]
        words = list(db.scalars(select(DescriptorVersion)))
        said = {draw.label: (50.0, 50.0) for draw in draws}
        add_session(db, "LATER", TODAY, draws, words, {GOOD: said})
    assert statuses(house)[GOOD] == {"in_training"}
    with house.write() as db, pytest.raises(OakpanelError, match=r"a later day, as 2026-03-15\."):
        take_in(db, GOOD, on=TODAY, now=NOW, by="L1")
    with house.write() as db:
        assert str(take_in(db, GOOD, now=NOW, by="L1").taken_in_on) == "2026-03-15"


def test_only_who_is_ready_is_taken_in_and_only_by_a_lead(house: Store) -> None:
    for code, by, why in (
        (POOR, "L1", "not called ready"),
        (PANEL[0], "L1", "not in training"),
        (GOOD, PANEL[0], "lead"),
    ):
        entries = n_entries(house)
        with house.write() as db, pytest.raises(OakpanelError, match=why):
            take_in(db, code, now=NOW, by=by)
        assert n_entries(house) == entries
    with house.write() as db:
        take_in(db, GOOD, now=NOW, by="L1")
    assert n_entries(house) == entries + 1


def n_entries(store: Store) -> int:
    with store.read() as db:
        return db.scalar(select(func.count()).select_from(LogEntry)) or 0


def test_training_begins_once_and_not_over_what_was_counted(house: Store) -> None:
    with house.write() as db, pytest.raises(OakpanelError) as refused:
        begin_training(db, GOOD, begun_on=date(2026, 4, 1), now=NOW, by="L1")
    assert "still to come" in str(refused.value)
    assert "in training since 2026-02-01" in str(refused.value)
    with house.write() as db, pytest.raises(NotAllowed, match="is no assessor"):
        begin_training(db, "L1", now=NOW, by="L1")


def sits_in_pairs(store: Store, status: SessionStatus, *, nosed: bool) -> None:
    """Give one of the panel a seat in pairs of today."""
    with store.write() as db:
        session = PanelSession(
            name="two pairs",
            held_on=TODAY,
            status=status,
            kind=SessionKind.STRONGER,
            key_hash="0" * 64,
        )
        person = db.scalars(select(Person).where(Person.code == PANEL[0])).one()
        session.assessors.append(SessionAssessor(person=person, seat=1))
        glass = Serving(person=person, code="111", flight=1, position=1)
        glass.taken_at = NOW if nosed else None
        session.servings.append(glass)
        db.add(session)


def refused_training(store: Store) -> str:
    with store.write() as db, pytest.raises(OakpanelError) as refused:
        begin_training(db, PANEL[0], begun_on=None, now=NOW, by="L1")
    return str(refused.value)


def test_who_answered_today_what_counts_begins_training_tomorrow(house: Store) -> None:
    sits_in_pairs(house, SessionStatus.OPEN, nosed=True)
    said = refused_training(house)
    assert "P1 nosed in two pairs of 2026-03-14" in said
    assert "(`--on 2026-03-15`)" in said
    begin(house, PANEL[0], date(2026, 3, 15))
    with house.read() as db:
        assert PANEL[0] in {who.code for who in panel_on(db, TODAY)}
        assert PANEL[0] not in {who.code for who in panel_on(db, date(2026, 3, 15))}


def test_who_is_to_answer_stays_away_first_and_who_never_came_is_free(house: Store) -> None:
    sits_in_pairs(house, SessionStatus.SEALED, nosed=False)
    assert "`oakpanel session seats 'two pairs' --absent P1`" in refused_training(house)
    with house.write() as db:
        db.scalars(
            select(PanelSession).where(PanelSession.name == "two pairs")
        ).one().status = SessionStatus.REVEALED
    begin(house, PANEL[0], TODAY)


def test_who_is_taken_in_from_tomorrow_sits_in_pairs_from_tomorrow(house: Store) -> None:
    with house.write() as db:
        taken = take_in(db, GOOD, now=NOW + timedelta(days=1), by="L1").taken_in_on
    pairs = SessionPlan("pair", (GOOD, PANEL[0]), ("R00", "R01"), NOTES[:1], held_on=TODAY)
    with house.write() as db, pytest.raises(PlanRefused, match=f"hold it from {taken} on"):
        plan_session(db, replace(pairs, kind=SessionKind.STRONGER), now=NOW, by="L1")


def test_an_exercise_of_trainees_alone_has_no_agreement_and_says_where_it_is_judged(
    house: Store,
) -> None:
    with house.read() as db, pytest.raises(WrongState, match="`oakpanel training show T1`"):
        session_agreement(db, EXERCISES[0])


def test_what_becomes_an_exercise_is_told_as_training_begins(store: Store) -> None:
    build_in_training(store)
    with store.write() as db:
        done = begin_training(db, GOOD, begun_on=BEGUN, now=NOW, by="L1")
        later = begin_training(db, POOR, begun_on=TODAY, now=NOW, by="L1")
    assert done.exercises == EXERCISES
    assert "What they scored in EX1, EX2, EX3, EX4 is an exercise now" in done.words()
    assert (later.exercises, later.words()) == ((), "T2 is in training from 2026-03-14 on.")


def test_a_training_that_begins_again_begins_with_no_exercise(house: Store) -> None:
    with house.write() as db:
        take_in(db, GOOD, now=NOW, by="L1")
    begin(house, GOOD, TODAY)
    found = standing(house, GOOD)
    assert (found.n_exercises, found.verdict.word) == (0, TrainingWord.CANNOT_TELL)
    with house.read() as db:
        lines = training_lines(db, as_of=TODAY)
    assert [line.n_exercises for line in lines] == [SETS, 0, SETS]


def test_nobody_in_training_sits_where_every_answer_counts(house: Store) -> None:
    wanted = SessionPlan(
        "pair", (GOOD, PANEL[0]), ("R00", "R01"), NOTES[:1], held_on=TODAY, replicates=2
    )
    for kind in (SessionKind.STRONGER, SessionKind.PASSING):
        with house.write() as db, pytest.raises(PlanRefused, match="is in training"):
            plan_session(db, replace(wanted, kind=kind), now=NOW, by="L1")
    exercise = replace(wanted, name="EX5", assessors=(GOOD,), replicates=1, descriptors=NOTES)
    with house.write() as db:
        said = plan_session(db, exercise, now=NOW, by="L1").lines()
    assert "in training: T1. What they score is an exercise" in " ".join(" ".join(said).split())
    with house.read() as db:
        everybody = people_with(db, Role.ASSESSOR, TODAY)
        assert assessors_for(db, SessionKind.PROFILE.facts, TODAY) == everybody
        sets = assessors_for(db, SessionKind.STRONGER.facts, TODAY)
        assert {who.code for who in sets} == set(PANEL)


# ---------------------------------------------------------------------- files, erasure


def test_a_file_says_who_was_in_training_and_loads_as_it_was(house: Store, tmp_path: Path) -> None:
    path = tmp_path / "scores.csv"
    save_file(house, Kind.SCORES, path)
    assert path.read_text().count("in_training") == 2 * SETS * 6 * len(NOTES)
    report = load_file(house, Kind.SCORES, path, now=NOW, by="L1")
    assert (report.problems, report.accepted) == ((), 0)
    with house.write() as db:
        for training in db.scalars(select(Training)):
            db.delete(training)
    refused = load_file(house, Kind.SCORES, path, now=NOW, by="L1")
    assert "was not in training on 2026-02-01" in refused.problems[0].message


@pytest.mark.parametrize("keep", [True, False])
def test_scores_kept_under_a_pseudonym_stay_apart(house: Store, keep: bool) -> None:
    with house.read() as db:
        assert person_record(db, GOOD)["trainings"] == [{"begun_on": BEGUN, "taken_in_on": None}]
    with house.write() as db:
        gone = erase_person(db, GOOD, keep_scores=keep, now=NOW, by="L1")
    with house.read() as db:
        assert len(db.scalars(select(Training)).all()) == (2 if keep else 1)
    assert statuses(house).get(gone.pseudonym) == ({"in_training"} if keep else None)

"""The bridge from the store to the analysis."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord, WrongState
from panel.frames import (
    CASK_COLUMNS,
    SCORE_COLUMNS,
    casks_frame,
    finished_session,
    recent_sessions,
    scores_frame,
    target_of,
)
from panel.frames.judging import agreement_settings
from panel.kinds import GlassKind, ServingStatus, SessionStatus, Stage
from panel.store.draws import Draw
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.lexicon import Descriptor, DescriptorVersion, fault_notes
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)
from panel.store.targets import StoredTarget, StoredTargetLine
from tests.houses.parts import add_draw, add_filling, add_make

GIVEN_AT = datetime(2024, 5, 1, 18, 0, tzinfo=UTC)


def add_version(
    db: Session, name: str, version: int = 1, *, pools: bool = False
) -> DescriptorVersion:
    from sqlalchemy import select

    descriptor = db.scalar(select(Descriptor).where(Descriptor.name == name)) or Descriptor(
        name=name
    )
    made = DescriptorVersion(
        descriptor=descriptor,
        version=version,
        stage=Stage.NOSE,
        low_words="not perceived",
        high_words="very strong",
        pools_with_previous=pools,
    )
    db.add(made)
    return made


def add_session(
    db: Session,
    name: str,
    status: SessionStatus,
    word: DescriptorVersion,
    glasses: list[tuple[str, Draw, float]],
    *,
    held_on: date = date(2024, 5, 1),
    assessor: str = "Rowan",
    knew_key: bool = False,
) -> PanelSession:
    from sqlalchemy import select

    person = db.scalar(select(Person).where(Person.code == assessor)) or Person(code=assessor)
    session = PanelSession(name=name, held_on=held_on, status=status, loaded=True)
    seat = SessionAssessor(session=session, person=person, seat=1, knew_key=knew_key)
    line = SessionDescriptor(session=session, descriptor_version=word, place=1)
    db.add_all([person, session, seat, line])
    db.flush()
    for order, (code, draw, value) in enumerate(glasses, start=1):
        serving = Serving(session=session, person=person, code=code, position=order)
        serving.scores.append(Score(descriptor_version=word, value=value, given_at=GIVEN_AT))
        db.add_all([serving])
        db.add(
            KeyRow(session_id=session.id, code=code, draw=draw, kind=GlassKind.TEST, replicate=1)
        )
    return session


def test_a_revealed_session_comes_with_all_that_is_behind_its_codes(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        draw = add_draw(db, "D1", filling, drawn_on=date(2024, 5, 1))
        add_session(
            db, "S1", SessionStatus.REVEALED, add_version(db, "wet slate"), [("417", draw, 30)]
        )
    with store.read() as db:
        frame = scores_frame(db)
    assert tuple(frame.columns) == SCORE_COLUMNS
    row = frame.iloc[0]
    assert (row["sample"], row["cask"], row["filling"], row["kind"]) == (
        "D1",
        "0101",
        "0101/1",
        "test",
    )
    assert row["age_years"] == 12
    assert (row["score"], row["status"], row["replicate"]) == (30, "kept", 1)


def test_a_session_not_revealed_gives_codes_only(store: Store) -> None:
    with store.write() as db:
        filling = add_filling(db, "0101", add_make(db))
        draw = add_draw(db, "D1", filling, drawn_on=date(2024, 5, 1))
        word = add_version(db, "wet slate")
        add_session(db, "closed", SessionStatus.CLOSED, word, [("417", draw, 30)])
        add_session(db, "open", SessionStatus.OPEN, word, [("233", draw, 30)])
    with store.read() as db:
        frame = scores_frame(db)
    assert list(frame["session"]) == ["closed"]
    assert list(frame["sample"]) == ["417"]
    hidden = frame[["draw", "filling", "cask", "batch", "drawn_on", "age_years"]]
    assert hidden.isna().all(axis=None)


def test_scores_of_somebody_who_knew_the_key_are_marked(store: Store) -> None:
    with store.write() as db:
        draw = add_draw(db, "R", None)
        word = add_version(db, "wet slate")
        add_session(db, "S", SessionStatus.REVEALED, word, [("417", draw, 30)], knew_key=True)
    with store.read() as db:
        assert list(scores_frame(db)["status"]) == ["knew_key"]


def test_versions_pool_only_where_the_lexicon_says_so(store: Store) -> None:
    with store.write() as db:
        draw = add_draw(db, "R", None)
        for version, pools in ((1, False), (2, True), (3, False)):
            word = add_version(db, "wet slate", version, pools=pools)
            add_session(db, f"S{version}", SessionStatus.REVEALED, word, [("417", draw, 30)])
    with store.read() as db:
        names: dict[str, str] = dict(
            scores_frame(db)[["session", "descriptor"]].itertuples(index=False)
        )
    old = "wet slate (up to version 2)"
    assert names == {"S1": old, "S2": old, "S3": "wet slate"}


def test_void_glasses_stay_in_the_frame_with_their_mark(store: Store) -> None:
    with store.write() as db:
        draw = add_draw(db, "R", None)
        word = add_version(db, "wet slate")
        session = add_session(db, "S", SessionStatus.REVEALED, word, [("417", draw, 30)])
        session.servings[0].status = ServingStatus.VOID
    with store.read() as db:
        assert list(scores_frame(db)["status"]) == ["void"]


def test_as_of_leaves_later_sessions_out(store: Store) -> None:
    with store.write() as db:
        draw = add_draw(db, "R", None)
        word = add_version(db, "wet slate")
        for year in (2022, 2024):
            day = date(year, 1, 1)
            add_session(
                db, str(year), SessionStatus.REVEALED, word, [("417", draw, 1)], held_on=day
            )
    with store.read() as db:
        assert set(scores_frame(db, as_of=date(2023, 1, 1))["session"]) == {"2022"}
        assert recent_sessions(db, "2024") == ["2022", "2024"]
        assert recent_sessions(db, "2022") == ["2022"]


def test_an_open_session_is_not_judged(store: Store) -> None:
    with store.write() as db:
        add_session(db, "S", SessionStatus.OPEN, add_version(db, "wet slate"), [])
    with store.read() as db:
        with pytest.raises(WrongState, match="shown once it is closed"):
            finished_session(db, "S")
        with pytest.raises(UnknownRecord, match="Nearest: S"):
            finished_session(db, "S1")


def test_casks_frame_has_one_row_a_filling(store: Store) -> None:
    with store.write() as db:
        add_filling(db, "0101", add_make(db))
    with store.read() as db:
        frame = casks_frame(db, date(2022, 5, 1))
    assert tuple(frame.columns) == CASK_COLUMNS
    assert frame.iloc[0][["cask", "age_years", "status"]].tolist() == ["0101", 10.0, "filled"]


def test_a_target_goes_over_line_by_line(store: Store) -> None:
    with store.write() as db:
        word = add_version(db, "wet slate")
        target = StoredTarget(name="Low water")
        target.lines.append(
            StoredTargetLine(descriptor=word.descriptor, place=1, aim=40, tolerance=8, weight=2)
        )
        db.add(target)
    with store.read() as db:
        line = target_of(db, "Low water").lines[0]
        assert (line.descriptor, line.aim, line.tolerance, line.weight) == ("wet slate", 40, 8, 2)
        with pytest.raises(UnknownRecord, match="There are: Low water"):
            target_of(db, "High water")


def add_two_evenings(store: Store) -> None:
    """Two evenings of one glass with two lines, the later one written first."""
    with store.write() as db:
        draw = add_draw(db, "R", None)
        slate, smoke = add_version(db, "wet slate"), add_version(db, "hearth smoke")
        for name, day in (("late", 9), ("early", 2)):
            session = add_session(
                db,
                name,
                SessionStatus.REVEALED,
                smoke,
                [("417", draw, day)],
                held_on=date(2024, 5, day),
            )
            if name == "early":
                db.add(SessionDescriptor(session=session, descriptor_version=slate, place=2))
            score = Score(descriptor_version=slate, value=50 + day, given_at=GIVEN_AT)
            session.servings[0].scores.append(score)


def lines_of(store: Store) -> list[tuple[str, str, float]]:
    with store.read() as db:
        frame = scores_frame(db)
    return list(frame[["session", "descriptor", "score"]].itertuples(index=False, name=None))


IN_ORDER = [
    ("early", "hearth smoke", 2.0),
    ("early", "wet slate", 52.0),
    ("late", "hearth smoke", 9.0),
]


def test_lines_come_by_evening_glass_and_place_those_not_of_their_session_stay_out(
    store: Store,
) -> None:
    add_two_evenings(store)
    assert lines_of(store) == IN_ORDER


def test_a_server_gives_the_same_frame(postgres_store: Store) -> None:
    add_two_evenings(postgres_store)
    assert lines_of(postgres_store) == IN_ORDER


def test_no_finished_session_is_an_empty_frame(store: Store) -> None:
    with store.read() as db:
        frame = scores_frame(db)
    assert tuple(frame.columns) == SCORE_COLUMNS
    assert frame.empty


def test_notes_that_ought_to_be_absent_go_by_their_newest_version(store: Store) -> None:
    with store.write() as db:
        add_version(db, "must").ought_to_be_absent = True
        db.flush()
        assert fault_notes(db) == {"must"}
        assert agreement_settings(db).ought_to_be_absent == {"must"}
        add_version(db, "must", 2)
        add_version(db, "honey")
        db.flush()
        assert fault_notes(db) == set()

"""Sessions held in our own booths: their record stays, and nothing leaves before the reveal."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import select

from panel.errors import UnknownRecord, WrongState
from panel.intake.kinds import Kind
from panel.intake.saving import save_file
from panel.kinds import GlassKind, ServingStatus, SessionStatus
from panel.store.draws import Draw
from panel.store.key import KeyRow
from panel.store.lexicon import DescriptorVersion
from panel.store.people import Person
from panel.store.sessions import (
    PanelSession,
    Score,
    Serving,
    SessionAssessor,
    SessionDescriptor,
)
from tests.intake.files import NOW, House, counts, message, said


def hold(
    house: House, status: SessionStatus, *, name: str = "night", rehearsal: bool = False
) -> None:
    """Write a session as the booths leave it: own codes a tray, a duplicate, a second pouring."""
    with house.store.write() as db:
        people = {person.code: person for person in db.scalars(select(Person))}
        draws = {draw.label: draw for draw in db.scalars(select(Draw))}
        versions = db.scalars(select(DescriptorVersion).order_by(DescriptorVersion.id.desc())).all()
        session = PanelSession(
            name=name, held_on=date(2025, 5, 1), status=status, key_hash="0", rehearsal=rehearsal
        )
        db.add(session)
        for seat, code in enumerate(("Rowan", "Alder"), start=1):
            db.add(SessionAssessor(session=session, person=people[code], seat=seat))
        for place, version in enumerate(versions, start=1):
            db.add(SessionDescriptor(session=session, descriptor_version=version, place=place))
        db.flush()
        glasses = [
            ("C1 spring", GlassKind.TEST, 1),
            ("C1 spring", GlassKind.TEST, 2),
            ("C1 spring", GlassKind.WARM_UP, 1),
            ("REF", GlassKind.REFERENCE, 1),
        ]
        for tray, person in people.items():
            for number, (label, kind, replicate) in enumerate(glasses, start=1):
                code = f"{number}{len(tray)}7"
                behind = KeyRow(session_id=session.id, tray=tray, code=code, replicate=replicate)
                behind.kind, behind.draw_id = kind, draws[label].id
                db.add(behind)
                for pouring in (1, 2) if number == 2 else (1,):
                    db.add(pour(session.id, person.id, code, number, pouring))
        db.flush()
        glass_ids = db.execute(select(Serving.id, Serving.position, Serving.pouring))
        for serving, position, pouring in glass_ids.all():
            for version in versions if position != 4 else ():
                score = Score(serving_id=serving, descriptor_version_id=version.id, given_at=NOW)
                score.value = (position or 0) + pouring / 10
                db.add(score)


def pour(session: int, person: int, code: str, number: int, pouring: int) -> Serving:
    spoiled = number == 2 and pouring == 1
    return Serving(
        session_id=session,
        person_id=person,
        code=code,
        position=number,
        taken_order=5 - number,
        pouring=pouring,
        warm_up=number == 3,
        status=ServingStatus.RE_POURED if spoiled else ServingStatus.KEPT,
    )


def test_its_own_file_changes_nothing(house: House) -> None:
    hold(house, SessionStatus.REVEALED)
    for wide in (False, True):
        content = house.saved(Kind.SCORES, wide=wide)
        report = house.take(Kind.SCORES, content)
        assert report.accepted == report.changed == 0
        assert report.unchanged == content.count(b"\n") - 1


def test_the_file_of_a_held_session_makes_the_same_session_elsewhere(
    house: House, new_house: object
) -> None:
    hold(house, SessionStatus.REVEALED)
    content = house.saved(Kind.SCORES)
    lines = content.decode().splitlines()
    assert len(lines) == 1 + 2 * (4 + 1) * 2
    assert lines[1].startswith(
        "night,2025-05-01,Rowan,REF,,reference,1,1,1,1,kept,plum stone,1,0,100"
    )
    other: House = new_house()  # type: ignore[operator]
    for kind in (Kind.MAKES, Kind.CASKS, Kind.DRAWS, Kind.LEXICON, Kind.ASSESSORS):
        other.take(kind, house.saved(kind))
    other.take(Kind.SCORES, content)
    assert other.saved(Kind.SCORES) == content


@pytest.mark.parametrize("update", [False, True])
def test_other_values_are_faults(house: House, update: bool) -> None:
    hold(house, SessionStatus.REVEALED)
    lines = house.saved(Kind.SCORES).decode().splitlines()
    changed = [lines[0], lines[1] + "5", *[line.replace("4.1", "4.2") for line in lines[2:]]]
    changed = [line.replace(",3.1", ",3.7") for line in changed]
    report = house.load(Kind.SCORES, "\n".join(changed), update=update)
    assert "no score is recorded" in message(report, 2, "score")
    assert "recorded is 3.1, not 3.7" in message(report, 4, "score")
    assert all("held here" in problem.message for problem in report.problems)


def test_glasses_and_descriptors_it_never_had_are_faults(house: House) -> None:
    hold(house, SessionStatus.REVEALED)
    house.take(Kind.LEXICON, "descriptor,stage,low_words,high_words\nnew,nose,a,b\n")
    head = "session,assessor,sample,kind,descriptor,score\n"
    report = house.load(
        Kind.SCORES,
        head + "night,Rowan,C2 spring,,plum stone,5\nnight,Rowan,REF,,new,5\n",
    )
    assert said(report) == [(2, "sample", "C2 spring"), (3, "descriptor", "new")]


@pytest.mark.parametrize("status", [SessionStatus.SEALED, SessionStatus.OPEN, SessionStatus.CLOSED])
def test_nothing_of_a_session_goes_in_or_out_before_the_reveal(
    house: House, status: SessionStatus
) -> None:
    hold(house, status)
    row = "session,assessor,sample,descriptor,score\nnight,Rowan,C2 spring,plum stone,5\n"
    report = house.load(Kind.SCORES, row)
    assert said(report) == [(2, "session", "night")]
    path = house.folder / "out.csv"
    with pytest.raises(WrongState, match="once it is revealed"):
        save_file(house.store, Kind.SCORES, path, sessions=["night"])
    assert not path.exists()
    saved = save_file(house.store, Kind.SCORES, path)
    assert saved.left_out == ("Not revealed yet, so left out: night.",)
    assert saved.rows == 0


def test_rehearsals_are_left_out_unless_named(house: House) -> None:
    hold(house, SessionStatus.REVEALED, rehearsal=True)
    path = house.folder / "out.csv"
    saved = save_file(house.store, Kind.SCORES, path)
    assert (saved.rows, saved.left_out) == (0, ("Rehearsals, so left out: night.",))
    assert save_file(house.store, Kind.SCORES, path, sessions=["night"], force=True).rows == 20


def test_a_session_that_is_not_there(house: House, tmp_path: Path) -> None:
    hold(house, SessionStatus.REVEALED)
    with pytest.raises(UnknownRecord, match="night"):
        save_file(house.store, Kind.SCORES, tmp_path / "x.csv", sessions=["nigth"])


def test_a_kind_is_taken_from_the_recorded_glass(house: House) -> None:
    hold(house, SessionStatus.REVEALED)
    row = "session,assessor,sample,replicate,descriptor,score\nnight,Rowan,REF,1,plum stone,\n"
    assert counts(house.take(Kind.SCORES, row)) == (0, 0, 1)


def test_exchanged_glasses_are_saved_as_they_are_read(house: House, new_house: object) -> None:
    """The duplicate (poured twice) and the reference of one tray changed places."""
    hold(house, SessionStatus.REVEALED)
    with house.store.write() as db:
        mine = select(Serving).where(Serving.person.has(code="Rowan"), Serving.status == "kept")
        second, reference = (
            db.scalars(mine.where(Serving.position == place)).one() for place in (2, 4)
        )
        second.read_as, reference.read_as = reference.code, second.code
    content = house.saved(Kind.SCORES)
    rows = [line.split(",") for line in content.decode().splitlines() if ",Rowan," in line]
    read = {(row[3], row[8], row[9], row[10]) for row in rows if row[11] == "plum stone"}
    assert ("REF", "1", "2", "kept") in read
    assert {("C1 spring", "2", "1", "re-poured"), ("C1 spring", "2", "2", "kept")} <= read
    report = house.take(Kind.SCORES, content)
    assert report.accepted == report.changed == 0

"""Who does not come and who comes late: seats change, the blind and the key's word do not."""

from __future__ import annotations

import json
from collections import Counter
from datetime import datetime

import pytest
from sqlalchemy import select

from panel.errors import KeyChanged, SessionError, WrongState
from panel.kinds import GlassKind, Manner, Role, ServingStatus
from panel.session.assigned import Assigned
from panel.session.blueprint import blueprint_of
from panel.session.plan import plan_session
from panel.session.pours import pour_needs
from panel.session.progress import session_progress
from panel.session.seal import seal_session
from panel.session.seats import SeatsChanged, change_seats
from panel.session.sheets import pour_sheet
from panel.session.stages import close_session, open_session, reveal_session
from panel.store.engine import Store
from panel.store.key import KeyRow
from panel.store.log import LogEntry
from panel.store.people import Person, PersonRole
from panel.store.sessions import PanelSession, Serving
from tests.houses.parts import person
from tests.houses.to_plan import plan, score_all

Tray = list[tuple[int, int | None, str, bool]]


def sealed(house: Store, now: datetime, **changes: object) -> Store:
    with house.write() as db:
        db.add_all([person("A7", Role.ASSESSOR), person("A8", Role.ASSESSOR)])
        db.flush()
        asked = {"assessors": ("A1", "A2", "A3", "A4"), **changes}
        plan_session(db, plan(**asked), now=now, by="L1")
        seal_session(db, "spring", now=now, by="L1")
    return house


def change(
    house: Store, now: datetime, absent: tuple[str, ...] = (), late: tuple[str, ...] = ()
) -> SeatsChanged:
    with house.write() as db:
        return change_seats(db, "spring", absent=absent, late=late, now=now, by="L1")


def key_of(house: Store) -> set[tuple[str, str, int, str, int]]:
    with house.read() as db:
        rows = db.scalars(select(KeyRow))
        return {(r.tray, r.code, r.draw_id, r.kind.value, r.replicate) for r in rows}


def tray_of(house: Store, who: str) -> Tray:
    with house.read() as db:
        rows = db.scalars(select(Serving).order_by(Serving.flight, Serving.position))
        return [(s.flight, s.position, s.code, s.warm_up) for s in rows if s.person.code == who]


def reveal_fits(house: Store, now: datetime) -> bool:
    with house.write() as db:
        if db.scalars(select(PanelSession)).one().opened_at is None:
            open_session(db, "spring", now=now, by="L1")
        score_all(db, now)
        close_session(db, "spring", now=now, by="L1")
        return bool(reveal_session(db, "spring", now=now, by="L1").matches)


def test_who_comes_late_takes_a_tray_as_it_stands(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    before, tray = key_of(house), tray_of(house, "A2")
    found = change(house, fixed_now, absent=("A2",), late=("A7",))
    assert key_of(house) == before
    assert (tray_of(house, "A7"), tray_of(house, "A2")) == (tray, [])
    (move,) = found.late
    assert (move.assessor, move.seat, move.instead_of, move.glasses) == ("A7", 2, "A2", len(tray))
    assert reveal_fits(house, fixed_now)


def test_who_comes_late_gets_a_tray_of_their_own_under_the_same_codes(
    house: Store, fixed_now: datetime
) -> None:
    sealed(house, fixed_now, draws=("D1", "D2", "D3", "D14", "D15"))
    before = key_of(house)
    change(house, fixed_now, late=("A7",))
    assert key_of(house) == before
    mine, other = tray_of(house, "A7"), tray_of(house, "A1")
    assert {code for _, _, code, _ in mine} == {code for _, _, code, _ in other}
    assert mine != other
    assert [position for _, position, _, _ in mine] == list(range(len(mine)))
    assert [code for _, _, code, warm_up in mine if warm_up] == [
        code for _, _, code, warm_up in other if warm_up
    ]
    with house.read() as db:
        smoky = {
            row.code: (row.draw.label in ("D14", "D15"), row.kind)
            for row in db.scalars(select(KeyRow))
        }
    tests = [smoky[code][0] for _, _, code, _ in mine if smoky[code][1] is GlassKind.TEST]
    assert tests == sorted(tests)
    assert reveal_fits(house, fixed_now)


def test_own_codes_are_drawn_for_a_late_tray_and_go_with_a_taken_one(
    house: Store, fixed_now: datetime
) -> None:
    sealed(house, fixed_now, codes_per_assessor=True)
    taken = tray_of(house, "A1")
    change(house, fixed_now, absent=("A1",), late=("A7", "A8"))
    assert tray_of(house, "A7") == taken
    with house.read() as db:
        key = [(row.tray, row.code) for row in db.scalars(select(KeyRow))]
        assert Counter(tray for tray, _ in key) == dict.fromkeys(
            ("A2", "A3", "A4", "A7", "A8"), len(taken)
        )
        assert len({code for _, code in key}) == len(key)
        served = {(s.person.code, s.code) for s in db.scalars(select(Serving))}
        assert served == set(key)
    assert reveal_fits(house, fixed_now)


def test_nobody_pours_for_who_does_not_come(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    found = change(house, fixed_now, absent=("A2",))
    assert (found.gone, found.void, found.notes) == (("A2",), (), ())
    with house.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert [seat.person.code for seat in session.assessors] == ["A1", "A3", "A4"]
        needs = pour_needs(db, blueprint_of(db, session))
        assert {need.glasses for need in needs} <= {3, 6}
    assert reveal_fits(house, fixed_now)


def test_what_is_poured_is_void_and_counts(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        pour_sheet(db, "spring", now=fixed_now, by="P1")
        open_session(db, "spring", now=fixed_now, by="L1")
    found = change(house, fixed_now, absent=("A2",))
    assert (found.gone, found.void) == ((), ("A2",))
    assert any("print" in note for note in found.notes)
    with house.read() as db:
        assert "A2" not in session_progress(db, "spring").unfinished
        status = {s.status for s in db.scalars(select(Serving)) if s.person.code == "A2"}
        assert status == {ServingStatus.VOID}
        session = db.scalars(select(PanelSession)).one()
        assert {n.glasses for n in pour_needs(db, blueprint_of(db, session))} <= {4, 8}


def test_the_log_says_who_and_the_new_hash_counts(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    found = change(house, fixed_now, absent=("A2",), late=("A7",))
    with house.read() as db:
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc()).limit(1)).one()
        body = json.loads(entry.body_json or "")
        assert body["action"] == "seats changed"
        assert body["absent"] == ["A2"]
        assert body["late"] == ["A7"]
        assert body["key_hash"] == found.key_hash
        assert body["key_hash_before"] != found.key_hash
        assert entry.chain_hex == found.log_head


def test_who_printed_the_key_counts_as_knowing_it(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        pourer = db.scalars(select(Person).where(Person.code == "P1")).one()
        pourer.roles.append(PersonRole(role=Role.ASSESSOR))
        pour_sheet(db, "spring", now=fixed_now, by="P1")
    found = change(house, fixed_now, late=("P1",))
    assert any("printed a sheet that tells the key" in note for note in found.notes)
    with house.read() as db:
        seats = db.scalars(select(PanelSession)).one().assessors
        assert [seat.person.code for seat in seats if seat.knew_key] == ["P1"]


def test_where_trays_differ_a_late_one_is_like_one_of_them(
    house: Store, fixed_now: datetime
) -> None:
    pairs = [("A1", n) for n in (1, 2, 3)] + [("A2", n) for n in (1, 2, 3)]
    pairs += [("A3", n) for n in (3, 4, 5)]
    asked = tuple(Assigned(who, f"D{n}") for who, n in pairs)
    sealed(house, fixed_now, assessors=(), draws=(), assigned=asked)
    change(house, fixed_now, late=("A7",))
    codes = {code for _, _, code, _ in tray_of(house, "A7")}
    assert codes == {code for _, _, code, _ in tray_of(house, "A3")}  # what fewest had
    assert reveal_fits(house, fixed_now)


def test_every_fault_at_once_and_nothing_written(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        glass = next(s for s in db.scalars(select(Serving)) if s.person.code == "A1")
        glass.taken_at = fixed_now
    before = tray_of(house, "A2")
    with house.write() as db, pytest.raises(SessionError) as refused:
        change_seats(
            db,
            "spring",
            absent=("A1", "A9", "A2"),
            late=("A3", "L1", "A66", "A2"),
            now=fixed_now,
            by="L1",
        )
    for piece in (
        "A1 has begun to nose",
        "'A9' has no seat",
        "A3 has a seat already",
        "L1 is no assessor",
        "nobody with the code 'A66'",
        "A2 is named twice",
    ):
        assert piece in str(refused.value)
    assert tray_of(house, "A2") == before


def test_a_changed_key_is_not_sealed_anew(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        one, other = db.scalars(select(KeyRow).where(KeyRow.kind == GlassKind.TEST).limit(2))
        one.draw_id, other.draw_id, one.replicate, other.replicate = (
            other.draw_id,
            one.draw_id,
            8,
            9,
        )
    with house.write() as db, pytest.raises(KeyChanged, match="not the one that was sealed"):
        change_seats(db, "spring", late=("A7",), now=fixed_now, by="L1")


def test_a_late_taster_stays_within_the_caps(house: Store, fixed_now: datetime) -> None:
    held = {"manner": Manner.TASTE, "draws": ("D1", "D2", "D3"), "warm_up": None, "pour_ml": 15.0}
    sealed(house, fixed_now, **held)
    with house.write() as db:
        plan_session(db, plan(**held, name="earlier", assessors=("A7",)), now=fixed_now, by="L1")
        plan_session(db, plan(**held, name="sooner", assessors=("A7",)), now=fixed_now, by="L1")
        seal_session(db, "earlier", now=fixed_now, by="L1")
        seal_session(db, "sooner", now=fixed_now, by="L1")
    with house.write() as db, pytest.raises(SessionError, match="house's cap"):
        change_seats(db, "spring", late=("A7",), now=fixed_now, by="L1")


def test_not_before_the_sealing_nor_after_the_end(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        open_session(db, "spring", now=fixed_now, by="L1")
        close_session(db, "spring", now=fixed_now, by="L1")
    with house.write() as db, pytest.raises(WrongState):
        change_seats(db, "spring", late=("A7",), now=fixed_now, by="L1")

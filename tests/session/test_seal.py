from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.errors import KeyChanged, PlanRefused, WrongState
from panel.kinds import GlassKind, SessionStatus
from panel.session.plan import plan_session
from panel.session.seal import key_hash, seal_session
from panel.store.draws import Draw, DrawPart
from panel.store.engine import Store
from panel.store.key import KeyRow, KeySecret
from panel.store.log import LogEntry, head_hash
from panel.store.people import Person
from panel.store.sessions import PanelSession, Serving
from panel.store.tables import METADATA
from tests.houses.to_plan import CODES, plan


def sealed(house: Store, now: datetime, **changes: object) -> str:
    """Plan and seal; return the hash."""
    asked = plan(**changes)
    with house.write() as db:
        plan_session(db, asked, now=now, by="L1")
        return seal_session(db, asked.name, now=now, by="L1").key_hash


def trays(db: Session) -> list[tuple[int, str, int, int | None, str, bool]]:
    rows = db.scalars(select(Serving).order_by(Serving.id))
    return [(r.id, r.person.code, r.flight, r.position, r.code, r.warm_up) for r in rows]


def test_sealing_fixes_codes_trays_and_hash(house: Store, fixed_now: datetime) -> None:
    shown = sealed(house, fixed_now)
    with house.read() as db:
        session = db.scalars(select(PanelSession)).one()
        assert session.status is SessionStatus.SEALED
        assert session.sealed_at == fixed_now
        assert shown == session.key_hash == key_hash(db, session.id)
        entry = db.scalars(select(LogEntry).order_by(LogEntry.id.desc())).first()
        assert entry is not None
        assert shown in (entry.body_json or "")
        assert len(db.scalars(select(KeyRow)).all()) == 9
        assert len(trays(db)) == 9 * len(CODES)


def test_the_answer_names_the_newest_link_of_the_log(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        answer = seal_session(db, "spring", now=fixed_now, by="L1")
        assert answer.log_head == head_hash(db)


def test_the_warm_up_glass_is_declared_and_first(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.read() as db:
        first = [row for row in trays(db) if row[3] == 0]
        assert len(first) == len(CODES)
        assert all(row[5] for row in first)
        assert sum(row[5] for row in trays(db)) == len(CODES)
        (code,) = {row[4] for row in first}
        key = db.scalars(select(KeyRow).where(KeyRow.code == code)).one()
        assert key.kind is GlassKind.WARM_UP


def test_positions_count_on_through_the_flights(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now, draws=tuple(f"D{n}" for n in range(1, 13)))
    with house.read() as db:
        for code in CODES:
            mine = sorted((r[3] or 0, r[2]) for r in trays(db) if r[1] == code)
            assert [position for position, _ in mine] == list(range(16))
            assert [flight for _, flight in mine] == [1] * 9 + [2] * 7


def test_codes_for_each_assessor_stand_in_trays_of_their_own(
    house: Store, fixed_now: datetime
) -> None:
    sealed(house, fixed_now, codes_per_assessor=True)
    with house.read() as db:
        keys = db.scalars(select(KeyRow)).all()
        assert {key.tray for key in keys} == set(CODES)
        assert {(key.tray, key.code) for key in keys} == {(r[1], r[4]) for r in trays(db)}
        assert len({key.code for key in keys}) == len(keys)


def test_no_code_hints_at_a_cask_of_the_session(house: Store, fixed_now: datetime) -> None:
    with house.write() as db:
        for draw in db.scalars(select(Draw)):
            if draw.filling is not None:
                draw.filling.cask.number = f"77{300 + draw.id}"
    for seed in range(15):
        sealed(house, fixed_now, seed=seed, name=f"s{seed}")
    with house.read() as db:
        endings = {
            k.draw.filling.cask.number[-3:] for k in db.scalars(select(KeyRow)) if k.draw.filling
        }
        assert not endings & {key.code for key in db.scalars(select(KeyRow))}


def test_the_same_seed_seals_the_same_trays_in_another_house(
    house: Store, fixed_now: datetime
) -> None:
    hashes = [sealed(house, fixed_now, seed=2026, name=name) for name in ("one", "two")]
    with house.read() as db:
        sessions = db.scalars(select(PanelSession).order_by(PanelSession.id)).all()
        found = [
            [(s.person.code, s.flight, s.position, s.code) for s in rows]
            for rows in (
                db.scalars(
                    select(Serving).where(Serving.session_id == one.id).order_by(Serving.id)
                ).all()
                for one in sessions
            )
        ]
        keys = [
            {
                (k.code, k.draw.label, k.replicate)
                for k in db.scalars(select(KeyRow).where(KeyRow.session_id == one.id))
            }
            for one in sessions
        ]
    assert found[0] == found[1]
    assert keys[0] == keys[1]
    assert hashes[0] != hashes[1]  # the nonce differs, so that equal keys cannot be told


def test_secret_bits_differ_where_none_were_given(house: Store, fixed_now: datetime) -> None:
    for name in ("one", "two"):
        sealed(house, fixed_now, name=name)
    with house.read() as db:
        one, two = db.scalars(select(KeySecret)).all()
        assert one.seed_hex != two.seed_hex
        assert int(one.seed_hex, 16) > 2**64


def test_a_sealed_session_is_not_sealed_again(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db, pytest.raises(WrongState, match="is sealed; sealing needs"):
        seal_session(db, "spring", now=fixed_now, by="L1")


@pytest.mark.parametrize("change", ["left", "strength"])
def test_what_changed_since_the_plan_stops_the_sealing(
    house: Store, fixed_now: datetime, change: str
) -> None:
    with house.write() as db:
        plan_session(db, plan(), now=fixed_now, by="L1")
        if change == "left":
            db.scalars(select(Person).where(Person.code == "A3")).one().left_on = date(2026, 3, 15)
        else:
            db.scalars(select(Draw).where(Draw.label == "R0")).one().abv = None
    with house.write() as db, pytest.raises(PlanRefused, match="plan it again"):
        seal_session(db, "spring", now=fixed_now, by="L1")


def another_draw(db: Session) -> None:
    row = db.scalars(select(KeyRow).where(KeyRow.kind == GlassKind.TEST)).first()
    assert row is not None
    row.draw_id = db.scalars(select(Draw.id).where(Draw.label == "D14")).one()


def another_code(db: Session) -> None:
    db.scalars(select(KeyRow)).all()[0].code = "999"


def another_kind(db: Session) -> None:
    db.scalars(select(KeyRow).where(KeyRow.kind == GlassKind.REFERENCE)).one().kind = GlassKind.TEST


def another_label(db: Session) -> None:
    db.scalars(select(Draw).where(Draw.label == "D1")).one().label = "D1b"


def another_filling(db: Session) -> None:
    other = db.scalars(select(Draw).where(Draw.label == "D2")).one().filling_id
    db.scalars(select(Draw).where(Draw.label == "D1")).one().filling_id = other


def another_order(db: Session) -> None:
    one, two = db.scalars(select(Serving).where(Serving.warm_up.is_(False))).all()[:2]
    one.position, two.position = 40, 41


def another_glass(db: Session) -> None:
    db.delete(db.scalars(select(Serving)).all()[0])


def another_secret(db: Session) -> None:
    db.scalars(select(KeySecret)).one().seed_hex = "0" * 32


def another_cask(db: Session) -> None:
    one, two = (db.scalars(select(Draw).where(Draw.label == f"D{n}")).one() for n in (1, 14))
    assert one.filling is not None
    assert two.filling is not None
    one.filling.cask_id = two.filling.cask_id


def another_blend(db: Session) -> None:
    one = db.scalars(select(Draw).where(Draw.label == "D1")).one()
    poured = db.scalars(select(Draw).where(Draw.label == "R0")).one()
    assert one.filling_id is not None
    poured.parts.append(DrawPart(filling_id=one.filling_id, millilitres=50.0))


TAMPERINGS = [
    another_cask,
    another_blend,
    another_draw,
    another_code,
    another_kind,
    another_label,
    another_filling,
    another_order,
    another_glass,
    another_secret,
]


@pytest.mark.parametrize("tamper", TAMPERINGS)
def test_the_hash_changes_with_every_part_of_the_key(
    house: Store, fixed_now: datetime, tamper: Callable[[Session], None]
) -> None:
    shown = sealed(house, fixed_now)
    with house.write() as db:
        tamper(db)
        db.flush()
        assert key_hash(db, db.scalars(select(PanelSession.id)).one()) != shown


def test_every_single_key_row_is_under_the_hash(house: Store, fixed_now: datetime) -> None:
    shown = sealed(house, fixed_now)
    with house.read() as db:
        session_id = db.scalars(select(PanelSession.id)).one()
        for row in db.scalars(select(KeyRow)).all():
            before, row.replicate = row.replicate, row.replicate + 5
            db.flush()
            assert key_hash(db, session_id) != shown
            row.replicate = before
            db.flush()
        assert key_hash(db, session_id) == shown


def test_without_its_secret_there_is_no_hash(house: Store, fixed_now: datetime) -> None:
    sealed(house, fixed_now)
    with house.write() as db:
        db.delete(db.scalars(select(KeySecret)).one())
        db.flush()
        with pytest.raises(KeyChanged):
            key_hash(db, db.scalars(select(PanelSession.id)).one())


def test_the_glass_that_a_booth_sees_has_no_way_to_a_draw() -> None:
    for table in ("serving", "score", "score_change", "serving_note", "fault_mark"):
        names = set(METADATA.tables[table].columns.keys())
        assert not {name for name in names if "draw" in name or "kind" in name or "key" in name}

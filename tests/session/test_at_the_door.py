"""Who is let in at the desk, what it sees change, codes of unlike trays and paper of a morning."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any, cast

import pytest
from sqlalchemy.engine import make_url

from panel.errors import BoothError, NotAllowed, SessionError, UnknownRecord
from panel.kinds import CallReason, Role, ServingStatus, SessionStatus, Task
from panel.session import passing, tray_codes
from panel.session.bottle_sheet import _weighed
from panel.session.calls import take_answer_back
from panel.session.codes import CodesError, CodeSharing, clash
from panel.session.drafts import _by_parcel
from panel.session.gate import base_name, let_in, read_gate
from panel.session.marks import _poured_in_error
from panel.session.passing_asked import PassingAsked
from panel.session.reopened import AfterReopening
from panel.session.sets import GlassSet, answerable
from panel.session.tray_codes import codes_of_trays
from panel.session.watching import look, waiting_calls
from panel.store.engine import Store
from panel.store.log import append_entry
from panel.store.people import Person
from panel.store.pins import hash_pin
from panel.store.sessions import LeadCall, PanelSession
from tests.houses.parts import person

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
PIN = "4718"


@pytest.fixture
def house(store: Store) -> Store:
    with store.write() as db:
        db.add_all([person("LD", Role.LEAD), person("AA")])
    return store


def pin_of(house: Store, code: str, pin: str | None) -> None:
    with house.write() as db:
        found = db.query(Person).filter_by(code=code).one()
        found.pin_hash = None if pin is None else hash_pin(pin)


def test_a_desk_asks_where_a_lead_has_a_pin_or_nobody_knows_who_sits_there(house: Store) -> None:
    alone = read_gate(house, None, now=NOW)
    assert (alone.leads, alone.with_pin, alone.by, alone.asks) == (
        ("LD",),
        frozenset(),
        "LD",
        False,
    )
    assert alone.greeting.startswith("Nobody who leads has a PIN")
    assert "LD, Give a PIN" in alone.greeting
    with house.write() as db:
        db.add(person("ML", Role.LEAD))
    two = read_gate(house, None, now=NOW)
    assert (two.leads, two.by, two.asks) == (("LD", "ML"), None, True)
    assert read_gate(house, "ML", now=NOW).asks is False
    pin_of(house, "LD", PIN)
    locked = read_gate(house, "ML", now=NOW)
    assert (locked.with_pin, locked.asks, locked.greeting) == (frozenset({"LD"}), True, "")
    assert locked.base == "panel.sqlite"
    assert base_name(make_url("postgresql://somebody@host/stock")) == "stock on host"


def test_a_house_without_a_lead_says_so(store: Store) -> None:
    gate = read_gate(store, None, now=NOW)
    assert (gate.leads, gate.by, gate.asks) == ((), None, False)
    assert gate.greeting.startswith("Nobody leads yet")


def test_only_a_lead_with_the_right_pin_is_let_in(house: Store) -> None:
    let_in(house, "LD", "", now=NOW)
    with pytest.raises(NotAllowed):
        let_in(house, "AA", "", now=NOW)
    with house.write() as db:
        db.add(person("ML", Role.LEAD))
    pin_of(house, "LD", PIN)
    pin_of(house, "AA", PIN)
    with pytest.raises(BoothError):
        let_in(house, "ML", "", now=NOW)
    let_in(house, "LD", PIN, now=NOW)
    for code, pin in (("LD", "0000"), ("ZZ", PIN)):
        with pytest.raises(BoothError):
            let_in(house, code, pin, now=NOW)
    with pytest.raises(NotAllowed):
        let_in(house, "AA", PIN, now=NOW)


def test_what_changed_since_somebody_looked(house: Store) -> None:
    with house.write() as db:
        append_entry(db, at=NOW, by="LD", action="cask changed", details={})
        before = look(db)
        assert (before.changed, before.records, before.others) == (True, True, True)
        still = look(db, before, by="LD")
        assert (still.changed, still.records, still.others) == (False, False, False)
        append_entry(db, at=NOW, by="AA", action="scores kept", details={})
        scored = look(db, before, by="LD")
        assert (scored.changed, scored.records, scored.others) == (True, False, False)
        append_entry(db, at=NOW, by="LD", action="cask changed", details={})
        own = look(db, scored, by="LD")
        assert (own.records, own.others) == (True, False)
        assert look(db, before, by="ML").others is True
        elsewhere = look(db, SimpleNamespace(**{**vars(own), "chain_hex": "x"}), by="LD")  # type: ignore[arg-type]
        assert (elsewhere.records, elsewhere.others) == (True, True), "another log lies there"


def test_calls_wait_until_they_are_answered_and_an_answer_is_taken_back(house: Store) -> None:
    with house.write() as db:
        somebody = db.query(Person).filter_by(code="AA").one()
        for name, status in (("One", SessionStatus.CLOSED), ("Two", SessionStatus.OPEN)):
            evening = PanelSession(name=name, held_on=NOW.date(), status=status, loaded=True)
            db.add(evening)
            db.flush()
            late = 1 if name == "One" else 0
            for minutes, answered in ((5 + late, None), (9, NOW)):
                db.add(
                    LeadCall(
                        **{"session_id": evening.id, "person_id": somebody.id},
                        **{"reason": next(iter(CallReason)), "answered_at": answered},
                        called_at=NOW - timedelta(minutes=60 - minutes),
                    )
                )
        db.flush()
        assert [each.session for each in waiting_calls(db)] == ["Two", "One"]
        call = db.query(LeadCall).filter(LeadCall.answered_at.is_not(None)).first()
        assert call is not None
        end = NOW + timedelta(minutes=10)
        with pytest.raises(SessionError, match="more than ten minutes"):
            take_answer_back(db, call.id, now=end + timedelta(seconds=1), by="LD")
        take_answer_back(db, call.id, now=end, by="LD")
        assert len(waiting_calls(db)) == 3
        with pytest.raises(SessionError, match="it waits"):
            take_answer_back(db, call.id, now=end, by="LD")
        with pytest.raises(UnknownRecord, match="no call number 99"):
            take_answer_back(db, 99, now=end, by="LD")


UNLIKE = [((0, 1), (2,)), ((1, 3),)]


def coded(sharing: CodeSharing, trays: Any = UNLIKE, warm_up: int | None = None) -> Any:
    return codes_of_trays(trays, 4, warm_up, random.Random(2), (), sharing)


def test_codes_of_trays_that_differ() -> None:
    own = coded(CodeSharing.EACH_ASSESSOR)
    assert [[bool(code) for code in tray] for tray in own] == [
        [True, True, True, False],
        [False, True, False, True],
    ]
    used = [code for tray in own for code in tray if code]
    assert len(set(used)) == 5
    warm = coded(CodeSharing.EACH_ASSESSOR, warm_up=3)
    assert [bool(code) for code in warm[0]] == [True] * 4
    one, other = coded(CodeSharing.ALL_ASSESSORS)
    assert one == other
    assert len(set(one)) == 4
    alike = coded(CodeSharing.EACH_ASSESSOR, [((0, 1), (2, 3)), ((3, 2), (1, 0))])
    assert all(all(tray) for tray in alike)


def test_where_codes_run_out_glasses_of_a_flight_are_kept_apart(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def none(*_: object) -> Any:
        raise CodesError("none")

    asked: list[list[tuple[int, ...]]] = []

    def together(n: int, sets: Any, *_: object) -> list[str]:
        asked.append([tuple(sorted(each)) for each in sets])
        if len(asked) == 1:
            raise CodesError("none")
        return [str(100 + at) for at in range(n)]

    monkeypatch.setattr(tray_codes, "draw_tray_codes", none)
    monkeypatch.setattr(tray_codes, "draw_codes_together", together)
    found = coded(CodeSharing.ALL_ASSESSORS, warm_up=3)
    assert found == (("100", "101", "102", "103"),) * 2
    # First whole trays with the warm-up glass; then flights, it beside the first of each.
    assert asked == [[(0, 1, 2, 3), (1, 3)], [(0, 1, 3), (2,), (1, 3, 3)]]
    monkeypatch.setattr(tray_codes, "draw_codes", none)
    own = coded(CodeSharing.EACH_ASSESSOR)
    assert own[1] == ("", "100", "", "101")
    assert asked[-1] == [(0, 1)]
    assert not clash("518", "604")


def bulk(**more: Any) -> Any:
    told = {"glasses": 8, "spirit_g": 41.04, "water_g": 90.0, "tolerance_g": 0.04}
    return SimpleNamespace(**{**told, **more})


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "spirit 41.0 g, water 90.0 g, total 131.0 g (+/- 0.1 g); 8 glasses"),
        ({"tolerance_g": 0.26, "glasses": 1}, "total 131.0 g (+/- 0.3 g); 1 glass"),
        ({"tolerance_g": None}, "total 131.0 g; 8 glasses"),
        ({"spirit_g": None}, "no strength on record: measure it first; 8 glasses"),
        ({"water_g": None, "glasses": 1}, "no strength on record: measure it first; 1 glass"),
    ],
)
def test_what_is_weighed_for_a_bottle(more: dict[str, Any], said: str) -> None:
    assert _weighed(bulk(**more)).endswith(said)


@pytest.mark.parametrize(
    ("more", "named", "said"),
    [
        ({}, True, "that AA, BB went on with 3 glasses; scores given, changed or taken back: 7."),
        ({}, False, "After that 2 people went on with 3 glasses"),
        ({"assessors": ("AA",)}, False, "1 person went on"),
        ({"n_glasses": 1}, True, "with 1 glass;"),
        ({"n_glasses": 0}, True, "no score was given, changed or taken back after that."),
        ({"n_glasses": 0, "n_faults": 2}, True, "Marks of a fault set after that: 2, by AA, BB."),
        ({"n_faults": 2}, True, "Marks of a fault set after that: 2."),
        ({"n_marked": 4}, True, "Glasses marked by the lead after that: 4."),
    ],
)
def test_what_came_after_a_session_was_opened_again(
    more: dict[str, Any], named: bool, said: str
) -> None:
    told: dict[str, Any] = {"n_scores": 7, "n_glasses": 3, "assessors": ("AA", "BB"), **more}
    words = AfterReopening(NOW, **told).words(named=named)
    assert said in words
    assert ("Marks of a fault" in words) is bool(more.get("n_faults"))
    assert ("marked by the lead" in words) is bool(more.get("n_marked"))


def test_a_morning_of_passing_on_paper(monkeypatch: pytest.MonkeyPatch) -> None:
    tray: Any = [SimpleNamespace(code=code, flight=at) for at, code in ((2, "518"), (1, "604"))]
    for air_s, said in ((90, ", then 1.5 minutes of air"), (0, "")):
        db = SimpleNamespace(get=lambda *_, air_s=air_s: SimpleNamespace(air_s=air_s))
        monkeypatch.setattr(passing, "object_session", lambda _, db=db: db)
        lines = list(passing._ballot(SimpleNamespace(id=1), tray))  # type: ignore[arg-type]
        at = lines.index("")
        assert lines[0].startswith("Faults: ")
        assert [line.split("    ")[0].strip() for line in lines[at:]] == [
            *("", f"Block 1{said}", "604", "", f"Block 2{said}", "518", "")
        ]


@pytest.mark.parametrize(
    ("status", "stands", "pouring", "taken", "error"),
    [
        (ServingStatus.KEPT, ServingStatus.KEPT, 2, None, True),
        (ServingStatus.KEPT, ServingStatus.KEPT, 1, None, False),
        (ServingStatus.KEPT, ServingStatus.KEPT, 2, NOW, False),
        (ServingStatus.VOID, ServingStatus.KEPT, 2, None, False),
        (ServingStatus.KEPT, ServingStatus.VOID, 2, None, False),
    ],
)
def test_a_new_glass_that_nobody_took_was_poured_in_error(
    status: ServingStatus, stands: ServingStatus, pouring: int, taken: datetime | None, error: bool
) -> None:
    glass: Any = SimpleNamespace(status=stands, pouring=pouring, taken_at=taken)
    assert _poured_in_error(glass, status) is error


@pytest.mark.parametrize(
    ("asked", "parcel", "comes"),
    [
        (PassingAsked(parcel="P1", casks=3), "P1", True),
        (PassingAsked(parcel="P1", casks=3), "P2", False),
        (PassingAsked(parcel="P1"), "P1", False),
        (None, "P1", False),
        (PassingAsked(parcel="P1", casks=3), None, False),
    ],
)
def test_a_draw_comes_by_its_parcel(
    asked: PassingAsked | None, parcel: str | None, comes: bool
) -> None:
    filling = None if parcel is None else SimpleNamespace(parcel=parcel)
    row: Any = SimpleNamespace(draw=SimpleNamespace(filling=filling))
    assert _by_parcel(row, asked) is comes


@pytest.mark.parametrize(
    ("task", "left", "short", "can_be"),
    [
        (Task.RANK, 3, False, True),
        (Task.RANK, 2, True, True),
        (Task.RANK, 1, True, False),
        (Task.ODD, 2, True, False),
        (Task.ODD, 3, False, True),
    ],
)
def test_what_is_left_of_a_short_set_can_only_be_ranked(
    task: Task, left: int, short: bool, can_be: bool
) -> None:
    assert answerable(task, GlassSet(1, (cast(Any, None),) * left, short)) is can_be

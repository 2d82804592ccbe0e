"""What a booth saves: who may, what is kept, what is refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from datetime import timedelta

import pytest
from sqlalchemy import select, update

from panel.errors import (
    BoothError,
    SeatTaken,
    SignInRefused,
    SignInWaits,
    UnknownRecord,
    WrongGlass,
    WrongState,
)
from panel.kinds import CallReason, Fault, ServingStatus, SessionStatus
from panel.store import booth_queries as booth
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Glass, Seat, Tray
from panel.store.engine import Store, connect
from panel.store.log import LogEntry
from panel.store.log_check import broken_link
from panel.store.opening import open_store
from panel.store.people import Person, SignInGuard
from panel.store.sessions import (
    LeadCall,
    PanelSession,
    ScoreChange,
    Serving,
    SessionAssessor,
)
from tests.houses.at_the_booth import (
    CODES,
    NAME,
    PINS,
    START,
    WORDS,
    Wall,
    kept_scores,
    open_evening,
)


@pytest.fixture
def wall() -> Wall:
    return Wall()


@pytest.fixture
def evening(store: Store) -> Store:
    open_evening(store)
    return store


def sit(store: Store, wall: Wall, who: str = "A1") -> Seat:
    return booth.sign_in(store, NAME, who, PINS[who], now=wall())


def tray_of(store: Store, seat: Seat) -> Tray:
    with store.read() as db:
        return booth.tray(db, seat)


def glass_of(store: Store, seat: Seat, code: str) -> Glass:
    return next(glass for glass in tray_of(store, seat).glasses if glass.code == code)


def take(store: Store, seat: Seat, code: str, wall: Wall) -> int:
    with store.write() as db:
        return booth.take_glass(db, seat, code, wall())


def mark(store: Store, serving_id: int, status: ServingStatus) -> None:
    with store.write() as db:
        db.execute(update(Serving).where(Serving.id == serving_id).values(status=status))


def set_stage(store: Store, stage: SessionStatus) -> None:
    with store.write() as db:
        db.execute(update(PanelSession).values(status=stage))


# ---------------------------------------------------------------------- signing in


def test_a_tray_has_lines_and_glasses_and_no_word_of_what_is_in_them(
    evening: Store, wall: Wall
) -> None:
    tray = tray_of(evening, sit(evening, wall))
    assert [line.name for line in tray.lines] == [word for word, _ in WORDS]
    assert tuple(glass.code for glass in tray.glasses) == CODES
    assert [glass.code for glass in tray.glasses if glass.warm_up] == [CODES[0]]
    told = {field.name for kind in (Tray, Glass) for field in fields(kind)}
    hidden = ("cask", "filling", "sample", "label", "kind", "replicate")
    assert not any(word in name for name in told for word in hidden)


def test_wrong_code_and_wrong_pin_are_told_in_the_same_words(evening: Store, wall: Wall) -> None:
    said = []
    for code, pin in (("A1", "0000"), ("nobody", "4821"), ("[/x]", "[/x]")):
        with pytest.raises(SignInRefused) as refused:
            booth.sign_in(evening, NAME, code, pin, now=wall())
        said.append(str(refused.value))
    assert len(set(said)) == 1


def test_five_wrong_pins_wait_and_each_further_one_doubles_the_wait(
    evening: Store, wall: Wall
) -> None:
    def wrong() -> str:
        with pytest.raises(BoothError) as refused:
            booth.sign_in(evening, NAME, "A1", "0000", now=wall())
        return str(refused.value)

    assert all("do not go together" in wrong() for _ in range(4))
    assert "60 s to go" in wrong()
    wall.pass_s(59)
    with pytest.raises(SignInWaits, match="1 s to go"):
        sit(evening, wall)  # the right PIN waits too
    wall.pass_s(1)
    assert "120 s to go" in wrong()
    wall.pass_s(120)
    sit(evening, wall)
    with evening.read() as db:
        assert db.scalars(select(SignInGuard)).all() == []


def test_wrong_pins_are_remembered_by_another_program(evening: Store, wall: Wall) -> None:
    for _ in range(5):
        with pytest.raises(BoothError):
            booth.sign_in(evening, NAME, "A1", "0000", now=wall())
    other = connect(evening.url)
    with pytest.raises(SignInWaits):
        booth.sign_in(other, NAME, "A1", PINS["A1"], now=wall())
    booth.sign_in(other, NAME, "A2", PINS["A2"], now=wall())
    other.close()


def test_an_unknown_code_waits_like_a_known_one(evening: Store, wall: Wall) -> None:
    said = []
    for code in ("A1", "nobody"):
        for _ in range(5):
            with pytest.raises(BoothError) as refused:
                booth.sign_in(evening, NAME, code, "0000", now=wall())
        said.append(str(refused.value))
    assert said[0] == said[1]
    assert "60 s" in said[0]
    other = connect(evening.url)  # as after a restart
    for code in ("A1", "NoBody"):
        with pytest.raises(SignInWaits) as waits:
            booth.sign_in(other, NAME, code, "0000", now=wall())
        said.append(str(waits.value))
    assert said[2] == said[3]
    other.close()


def test_capital_letters_of_a_code_do_not_matter(evening: Store, wall: Wall) -> None:
    assert booth.sign_in(evening, NAME, "a1", PINS["A1"], now=wall()).code == "A1"


def test_who_has_no_pin_or_no_tray_does_not_get_in(evening: Store, wall: Wall) -> None:
    with evening.write() as db:
        db.execute(update(Person).where(Person.code == "A1").values(pin_hash=None))
        seat = db.scalars(select(SessionAssessor).join(Person).where(Person.code == "A2")).one()
        db.delete(seat)
    with pytest.raises(SignInRefused, match="do not go together"):
        sit(evening, wall)
    with pytest.raises(SignInRefused, match="A2 has no tray in evening-12"):
        sit(evening, wall, "A2")


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        (SessionStatus.SEALED, "is not open yet"),
        (SessionStatus.CLOSED, "was closed"),
        (SessionStatus.REVEALED, "is over"),
    ],
)
def test_only_an_open_session_lets_people_in(
    evening: Store, wall: Wall, stage: SessionStatus, words: str
) -> None:
    set_stage(evening, stage)
    with pytest.raises(WrongState, match=words):
        sit(evening, wall)


def test_the_booth_finds_the_only_open_session(evening: Store) -> None:
    with evening.read() as db:
        assert booth.booth_session(db, None) == NAME
        with pytest.raises(UnknownRecord, match="Open now: evening-12"):
            booth.booth_session(db, "[/x]")
    with evening.write() as db:
        db.add(PanelSession(name="other", status=SessionStatus.OPEN, key_hash="1" * 64))
    with evening.read() as db, pytest.raises(WrongState, match=r"evening-12, other\. Say which"):
        booth.booth_session(db, None)
    set_stage(evening, SessionStatus.CLOSED)
    with evening.read() as db, pytest.raises(WrongState, match="No session is open"):
        booth.booth_session(db, None)


def test_a_new_sign_in_fences_the_booth_before_it(evening: Store, wall: Wall) -> None:
    first = sit(evening, wall)
    serving = take(evening, first, "538", wall)
    line = tray_of(evening, first).lines[0].version_id
    with evening.write() as db:
        booth.save_score(db, first, serving, line, 30, wall())
    wall.pass_s(240)
    second = booth.sign_in(evening, NAME, "A1", PINS["A1"], now=wall(), place="window")
    taken = pytest.raises(SeatTaken, match=r"another booth \(window\) at 18:04")
    with taken, evening.write() as db:
        booth.save_score(db, first, serving, line, 99, wall())
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 30}
    with evening.write() as db:
        booth.save_score(db, second, serving, line, 31, wall())
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 31}


# ---------------------------------------------------------------------- glasses and scores


def test_the_real_order_is_recorded(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    for code in ("382", "538", "417"):
        serving = take(evening, seat, code, wall)
        assert take(evening, seat, code, wall) == serving  # once more changes nothing
        with evening.write() as db:
            booth.finish_glass(db, seat, serving, wall())
    order = {glass.code: glass.taken_order for glass in tray_of(evening, seat).glasses}
    assert order == {"538": 2, "417": 3, "382": 1, "295": None, "746": None}


def test_every_change_is_kept_and_the_last_one_counts(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[3].version_id
    for value in (40, 41, None, 0):
        wall.pass_s(1)
        with evening.write() as db:
            booth.save_score(db, seat, serving, line, value, wall())
    assert kept_scores(evening, "A1", "538") == {"honey": 0}
    with evening.read() as db:
        changes = db.scalars(select(ScoreChange).order_by(ScoreChange.id)).all()
        assert [change.value for change in changes] == [40, 41, None, 0]
        assert {change.by_code for change in changes} == {"A1"}
    kept = glass_of(evening, seat, "538").scores[line]
    assert kept.given_at == START + timedelta(seconds=4)


def test_none_of_the_rest_touches_blank_lines_only(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[0].version_id
    with evening.write() as db:
        booth.save_score(db, seat, serving, line, 62, wall())
    with evening.write() as db:
        assert len(booth.save_rest_zero(db, seat, serving, wall())) == 9
    kept = kept_scores(evening, "A1", "538")
    assert kept.pop("orchard fruit") == 62
    assert set(kept.values()) == {0}


@pytest.mark.parametrize("value", [101, -1, 1e9, float("nan")])
def test_a_score_off_the_scale_is_refused_and_with_it_the_whole_save(
    evening: Store, wall: Wall, value: float
) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    first, second = (line.version_id for line in tray_of(evening, seat).lines[:2])
    refused = pytest.raises(BoothError, match="A score lies between 0 and 100")
    with refused, evening.write() as db:
        booth.save_scores(db, seat, serving, {first: 50, second: value}, wall())
    assert kept_scores(evening, "A1", "538") == {}


def test_a_line_that_is_not_on_the_sheet_is_refused(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    refused = pytest.raises(BoothError, match="not on the sheet")
    with refused, evening.write() as db:
        booth.save_score(db, seat, serving, 9999, 5, wall())


def test_nobody_saves_to_the_tray_of_another(evening: Store, wall: Wall) -> None:
    one, two = sit(evening, wall, "A1"), sit(evening, wall, "A2")
    serving = take(evening, two, "538", wall)
    line = tray_of(evening, one).lines[0].version_id
    with pytest.raises(WrongGlass, match="not on your tray"), evening.write() as db:
        booth.save_score(db, one, serving, line, 5, wall())


def test_a_glass_that_was_put_down_takes_no_score_until_it_is_taken_again(
    evening: Store, wall: Wall
) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[0].version_id
    with evening.write() as db:
        booth.finish_glass(db, seat, serving, wall())
    with pytest.raises(WrongGlass, match="not in your hand"), evening.write() as db:
        booth.save_score(db, seat, serving, line, 5, wall())
    with evening.write() as db:
        booth.go_back_to(db, seat, serving, wall())
        booth.save_score(db, seat, serving, line, 5, wall())
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 5}


def test_a_session_that_does_not_go_back_says_so(evening: Store, wall: Wall) -> None:
    with evening.write() as db:
        db.execute(update(PanelSession).values(may_go_back=False))
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    with evening.write() as db:
        booth.finish_glass(db, seat, serving, wall())
    with pytest.raises(WrongGlass, match="does not go back"), evening.write() as db:
        booth.go_back_to(db, seat, serving, wall())


@pytest.mark.parametrize(
    ("status", "words"),
    [(ServingStatus.VOID, "took 538 out"), (ServingStatus.RE_POURED, "poured again")],
)
def test_what_the_lead_took_out_takes_no_score_and_keeps_what_it_has(
    evening: Store, wall: Wall, status: ServingStatus, words: str
) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[0].version_id
    with evening.write() as db:
        booth.save_score(db, seat, serving, line, 5, wall())
    mark(evening, serving, status)
    with pytest.raises(WrongGlass, match=words), evening.write() as db:
        booth.save_score(db, seat, serving, line, 6, wall())
    assert kept_scores(evening, "A1", "538") == {"orchard fruit": 5}


def test_a_suspected_swap_is_not_told_at_the_booth(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    before = tray_of(evening, seat)
    mark(evening, serving, ServingStatus.SWAP_SUSPECTED)
    assert tray_of(evening, seat) == before


def test_a_closed_session_saves_nothing(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[0].version_id
    set_stage(evening, SessionStatus.CLOSED)
    with pytest.raises(WrongState, match="evening-12 was closed"), evening.write() as db:
        booth.save_score(db, seat, serving, line, 5, wall())
    assert kept_scores(evening, "A1", "538") == {}


def test_the_last_glass_finishes_the_tray_and_a_fresh_one_opens_it_again(
    evening: Store, wall: Wall
) -> None:
    seat = sit(evening, wall)
    lines = {line.version_id: 10.0 for line in tray_of(evening, seat).lines}

    def finished() -> object:
        with evening.read() as db:
            chair = db.get(SessionAssessor, (seat.session_id, seat.person_id))
            return chair.finished_at if chair else None

    for code in CODES:
        assert finished() is None
        with evening.write() as db:
            booth.save_glass(db, seat, code, lines, taken_at=wall(), finished_at=wall())
    assert finished() == START
    assert kept_scores(evening, "A1", "746") == {word: 10 for word, _ in WORDS}
    with evening.write() as db:
        old = db.scalars(select(Serving).filter_by(code="417", person_id=seat.person_id)).one()
        old.status = ServingStatus.RE_POURED
        fresh = Serving(
            session_id=seat.session_id,
            person_id=seat.person_id,
            code="417",
            position=old.position,
            pouring=2,
        )
        db.add(fresh)
    assert take(evening, seat, "417", wall) == fresh.id
    assert finished() is None


# ---------------------------------------------------------------------- marks, notes, calls


def test_fault_marks_go_on_and_off(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    for fault, on in ((Fault.SOAPY, True), (Fault.RUBBER, True), (Fault.SOAPY, False)):
        with evening.write() as db:
            booth.mark_fault(db, seat, serving, fault, wall(), on=on)
    assert glass_of(evening, seat, "538").faults == {"rubber"}


def test_a_note_is_kept_changed_and_taken_away(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    for text, kept in (
        ("[/x] a [b]note[/b]", "[/x] a [b]note[/b]"),
        (" other ", "other"),
        ("wet\tslate\x1b]0;mine\x07\n\u202eabc", "wet slate]0;mine abc"),
        ("", ""),
    ):
        with evening.write() as db:
            booth.save_note(db, seat, serving, text, wall())
        assert glass_of(evening, seat, "538").note == kept
    with pytest.raises(BoothError, match="at most 500"), evening.write() as db:
        booth.save_note(db, seat, serving, "x" * 501, wall())


def test_a_call_is_open_until_it_is_answered(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    with evening.write() as db:
        call = booth.call_lead(db, seat, CallReason.WATER, wall())
    assert [c.reason for c in tray_of(evening, seat).calls] == ["water"]
    with evening.write() as db:
        db.execute(update(LeadCall).where(LeadCall.id == call).values(answered_at=wall()))
    assert tray_of(evening, seat).calls == ()


def test_the_own_mark_needs_no_cause_and_leaves_no_trace_of_which_it_was(
    evening: Store, wall: Wall
) -> None:
    seat = sit(evening, wall)
    with evening.write() as db:
        booth.not_at_best(db, seat, wall())
    assert tray_of(evening, seat).not_at_best
    with evening.write() as db:
        booth.not_at_best(db, seat, wall(), on=False)
    assert not tray_of(evening, seat).not_at_best
    with evening.read() as db:
        bodies = [body or "" for body in db.scalars(select(LogEntry.body_json))]
    assert sum('"own mark changed"' in body for body in bodies) == 2
    assert not any("best" in body for body in bodies)


def test_the_log_holds_codes_and_hashes_and_its_chain_holds(evening: Store, wall: Wall) -> None:
    seat = sit(evening, wall)
    serving = take(evening, seat, "538", wall)
    line = tray_of(evening, seat).lines[0].version_id
    with evening.write() as db:
        booth.save_score(db, seat, serving, line, 87, wall())
    with evening.write() as db:
        booth.save_note(db, seat, serving, "quite a secret", wall())
    with evening.read() as db:
        bodies = [body or "" for body in db.scalars(select(LogEntry.body_json))]
        assert broken_link(db) is None
    assert len(bodies) == 5  # the evening, signed in, taken, score, note: one a transaction
    assert not any("secret" in body or PINS["A1"] in body or ":87" in body for body in bodies)


# ---------------------------------------------------------------------- PostgreSQL


@pytest.fixture
def booths_own_user(postgres_store: Store) -> Iterator[Store]:
    open_evening(postgres_store)
    role = make_booth_role(postgres_store, "booth_of_this_test", new_password=True)
    store = open_store(role.url)
    yield store
    store.close()


def test_the_booths_user_on_a_server_can_do_all_that_a_booth_does(
    booths_own_user: Store, wall: Wall
) -> None:
    store = booths_own_user
    with pytest.raises(SignInRefused):
        booth.sign_in(store, NAME, "A1", "0000", now=wall())
    seat = sit(store, wall)
    serving = take(store, seat, "538", wall)
    with store.write() as db:
        booth.save_rest_zero(db, seat, serving, wall())
    with store.write() as db:
        booth.save_score(db, seat, serving, tray_of(store, seat).lines[0].version_id, 62, wall())
    with store.write() as db:
        booth.mark_fault(db, seat, serving, Fault.SOAPY, wall())
    with store.write() as db:
        booth.save_note(db, seat, serving, "note", wall())
    with store.write() as db:
        booth.call_lead(db, seat, CallReason.WATER, wall(), serving)
    with store.write() as db:
        booth.not_at_best(db, seat, wall())
    with store.write() as db:
        booth.finish_glass(db, seat, serving, wall())
    glass = glass_of(store, seat, "538")
    assert glass.finished_at == START
    assert sorted({kept.value for kept in glass.scores.values()}) == [0, 62]

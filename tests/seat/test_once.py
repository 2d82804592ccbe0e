"""A deed with a number is done once, however often and from wherever it is sent."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing

import pytest
from sqlalchemy import func, select, text

from panel.errors import BoothError, SeatTaken
from panel.seat.arriving import leave
from panel.seat.jobs import CallLead, KeepNote, KeepScores, RestZero, TakeUp, ZerosBack
from panel.seat.once import Done, perform_once
from panel.store import booth_queries
from panel.store.booth_deeds import forget_deeds
from panel.store.booth_return import seat_behind
from panel.store.booth_role import make_booth_role
from panel.store.booth_tray import Seat
from panel.store.deed_numbers import BoothDeed
from panel.store.engine import Store, connect
from panel.store.opening import open_store
from panel.store.sessions import LeadCall, ScoreChange
from tests.houses.at_the_booth import NAME, PINS, Wall, kept_scores, open_evening

ONE, TWO, THREE = "1" * 32, "2" * 32, "3" * 32
ROLE = "booth_of_deeds"


@pytest.fixture(params=["store", "postgres_store"])
def owner(request: pytest.FixtureRequest) -> Store:
    """Give an open evening in a file, and one on a server."""
    made: Store = request.getfixturevalue(request.param)
    open_evening(made)
    return made


@pytest.fixture
def evening(owner: Store) -> Iterator[Store]:
    """Give it as a booth reaches it: on a server as the booths' own user."""
    if owner.url.get_backend_name() == "sqlite":
        yield owner
        return
    made = make_booth_role(owner, ROLE, new_password=True)
    with closing(open_store(made.url)) as booths:
        yield booths
    with owner.write() as db:
        db.execute(text(f"DROP OWNED BY {ROLE}"))
        db.execute(text(f"DROP ROLE {ROLE}"))


@pytest.fixture
def seat(evening: Store, wall: Wall) -> Seat:
    return booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall(), place="a browser")


def glass(done: Done) -> int:
    [taken] = [each.serving_id for each in done.tray.glasses if each.taken_at]
    return taken


def count(store: Store, table: type) -> int:
    with store.read() as db:
        return db.scalar(select(func.count()).select_from(table)) or 0


def test_what_was_done_is_answered_and_not_done_again(
    evening: Store, owner: Store, seat: Seat, wall: Wall
) -> None:
    call, at = CallLead("water"), wall()
    first = perform_once(evening, seat, ONE, call, at)
    wall.pass_s(30)
    again = perform_once(evening, seat, ONE, call, wall())
    assert (first.repeated, again.repeated) == (False, True)
    assert (first.at, again.at) == (at, at)
    assert count(owner, LeadCall) == 1
    perform_once(evening, seat, TWO, call, wall())
    assert count(owner, LeadCall) == 2


def test_a_double_tap_at_once_is_one_deed(
    evening: Store, owner: Store, seat: Seat, wall: Wall
) -> None:
    with ThreadPoolExecutor(8) as hands:
        taps = [
            hands.submit(perform_once, evening, seat, ONE, CallLead("spilled"), wall())
            for _ in range(8)
        ]
        done = [tap.result() for tap in taps]
    assert sorted(each.repeated for each in done) == [False] + [True] * 7
    assert count(owner, LeadCall) == 1


def test_one_number_stands_for_one_deed(evening: Store, seat: Seat, wall: Wall) -> None:
    held = glass(perform_once(evening, seat, ONE, TakeUp("538"), wall()))
    perform_once(evening, seat, TWO, KeepNote(held, "tar"), wall())
    with pytest.raises(BoothError, match="stands for another deed"):
        perform_once(evening, seat, TWO, KeepNote(held, "pitch"), wall())


def test_a_refused_deed_leaves_no_number(
    evening: Store, owner: Store, seat: Seat, wall: Wall
) -> None:
    with pytest.raises(BoothError, match="not on your tray"):
        perform_once(evening, seat, ONE, TakeUp("999"), wall())
    assert count(owner, BoothDeed) == 0


@pytest.mark.slow
def test_a_number_is_one_seats_own(evening: Store, seat: Seat, wall: Wall) -> None:
    other = booth_queries.sign_in(evening, NAME, "A2", PINS["A2"], now=wall())
    for each in (seat, other):
        assert not perform_once(evening, each, ONE, CallLead("water"), wall()).repeated


def test_a_seat_comes_back_by_its_token_and_one_that_was_taken_is_told(
    evening: Store, seat: Seat, wall: Wall
) -> None:
    again = connect(evening.url)
    with again.read() as db:
        assert seat_behind(db, NAME, seat.token) == seat
        assert seat_behind(db, NAME, "0" * 32) is None
    newer = booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall(), place="left")
    with again.read() as db:
        fenced = seat_behind(db, NAME, seat.token)
        assert seat_behind(db, NAME, newer.token) == newer
    assert fenced is not None
    with pytest.raises(SeatTaken, match="another booth"):
        perform_once(again, fenced, ONE, CallLead("water"), wall())
    again.close()


def test_a_seat_that_was_left_is_ended_until_somebody_signs_in_anew(
    evening: Store, seat: Seat, wall: Wall
) -> None:
    leave(evening, seat, wall())
    leave(evening, seat, wall())
    with evening.read() as db:
        assert seat_behind(db, NAME, seat.token) is None
    with pytest.raises(SeatTaken, match="A1 left this booth at 18:00"):
        perform_once(evening, seat, ONE, CallLead("water"), wall())
    newer = booth_queries.sign_in(evening, NAME, "A1", PINS["A1"], now=wall())
    leave(evening, seat, wall())
    assert not perform_once(evening, newer, ONE, CallLead("water"), wall()).repeated


def test_zeros_on_the_rest_are_taken_back_where_they_still_stand(
    evening: Store, seat: Seat, wall: Wall
) -> None:
    held = glass(perform_once(evening, seat, "a" * 32, TakeUp("538"), wall()))
    perform_once(evening, seat, "b" * 32, KeepScores(held, {1: 40}), wall())
    done = perform_once(evening, seat, ONE, RestZero(held), wall())
    assert len(done.tray.glasses[0].scores) == 10
    perform_once(evening, seat, TWO, KeepScores(held, {3: 7}), wall())
    zeros = frozenset(range(2, 11))
    left = perform_once(evening, seat, THREE, ZerosBack(held, zeros), wall()).tray.glasses[0]
    assert {line: kept.value for line, kept in left.scores.items()} == {1: 40, 3: 7}


def test_scores_sent_twice_change_once(store: Store, wall: Wall) -> None:
    open_evening(store)
    seat = booth_queries.sign_in(store, NAME, "A1", PINS["A1"], now=wall())
    held = glass(perform_once(store, seat, ONE, TakeUp("538"), wall()))
    for _ in range(2):
        perform_once(store, seat, TWO, KeepScores(held, {1: 40, 2: None}), wall())
    assert kept_scores(store, "A1", "538") == {"orchard fruit": 40}
    assert count(store, ScoreChange) == 2
    with store.write() as db:
        forget_deeds(db, seat.session_id)
    assert count(store, BoothDeed) == 0

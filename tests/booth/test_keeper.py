from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from panel.errors import DatabaseLocked
from panel.seat.jobs import CallLead, Job, KeepScores, PutDown
from panel.seat.keeper import Keeper

LOCKED = DatabaseLocked("held")


def test_scores_of_a_glass_gather_and_keep_their_place() -> None:
    keeper = Keeper()
    keeper.add(KeepScores(1, {5: 10}))
    keeper.add(KeepScores(1, {6: 20, 5: 11}))
    keeper.add(CallLead("water"))
    keeper.add(KeepScores(1, {5: 12}))
    assert keeper.begin() == KeepScores(1, {5: 11, 6: 20})
    assert keeper.begin() is None  # one at a time
    keeper.done()
    assert keeper.begin() == CallLead("water")
    keeper.done()
    assert keeper.begin() == KeepScores(1, {5: 12})
    keeper.done()
    assert keeper.idle


def test_what_failed_comes_first_and_newer_values_win() -> None:
    keeper = Keeper()
    keeper.add(KeepScores(1, {5: 10, 6: 1}))
    keeper.begin()
    keeper.add(KeepScores(1, {5: 30}))
    keeper.add(PutDown(1))
    keeper.failed(LOCKED)
    assert keeper.begin() is None
    assert keeper.unsaved() == {1: {5: 30, 6: 1}}
    keeper.go_on()
    assert keeper.begin() == KeepScores(1, {5: 30, 6: 1})
    keeper.done()
    assert keeper.begin() is None  # the glass is not put down later by itself


def test_a_deed_of_the_moment_is_not_repeated() -> None:
    keeper = Keeper()
    keeper.add(PutDown(1))
    keeper.begin()
    keeper.failed(LOCKED)
    assert keeper.idle
    assert keeper.trouble is None


def test_a_withdrawn_glass_is_forgotten_and_nothing_else() -> None:
    keeper = Keeper()
    keeper.add(KeepScores(1, {5: 10}))
    keeper.add(KeepScores(2, {5: 20}))
    keeper.forget_glass(1)
    assert keeper.unsaved() == {2: {5: 20}}


@given(
    st.lists(
        st.tuples(st.integers(1, 2), st.integers(1, 3), st.none() | st.integers(0, 100)),
        max_size=30,
    ),
    st.randoms(use_true_random=False),
)
def test_whatever_fails_the_disk_ends_with_the_last_value_of_every_line(
    changes: list[tuple[int, int, int | None]], chance: object
) -> None:
    keeper, disk = Keeper(), dict[tuple[int, int], int | None]()
    wanted: dict[tuple[int, int], int | None] = {}

    def work() -> None:
        keeper.go_on()
        job: Job | None = keeper.begin()
        if job is None:
            return
        if chance.random() < 0.4:  # type: ignore[attr-defined]
            keeper.failed(LOCKED)
            return
        assert isinstance(job, KeepScores)
        disk.update({(job.serving_id, line): value for line, value in job.values.items()})
        keeper.done()

    for serving, line, value in changes:
        keeper.add(KeepScores(serving, {line: value}))
        wanted[serving, line] = value
        work()
    while not keeper.idle:
        work()
    assert disk == wanted

"""Seats are filled with what adds most, within every limit."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import InputError
from analysis.next_glasses.fill import Poured, fill
from analysis.next_glasses.margins import Margins
from analysis.next_glasses.room import Room
from tests.analysis.next_glasses.houses import made_up, weighing


def names(margins: Margins, poured: tuple[Poured, ...]) -> list[str]:
    return [margins.states.names[one.row] for one in poured]


def test_gains_that_are_kept_are_those_that_would_be_reckoned_anew() -> None:
    margins, seats = made_up(200), 4
    found = fill(weighing(margins), Room(dict.fromkeys("ABCDE", seats), pool=7))
    again, left = weighing(margins), np.full(5, seats)
    poured: set[tuple[int, int]] = set()
    used: set[int] = set()
    every = np.arange(200)
    for one in found:
        gains = again.gains(every)
        gains[:, left == 0] = -1.0
        for row, who in poured:
            gains[row, who] = -1.0
        if len(used) == 7:
            gains[[row for row in every if row not in used]] = -1.0
        row, who = divmod(int(gains.argmax()), 5)
        assert (one.row, one.assessor) == (row, who)
        assert one.value == pytest.approx(gains[row, who], rel=1e-9)
        again.pour(one.row, one.assessor)
        left[one.assessor] -= 1
        poured.add((one.row, one.assessor))
        used.add(one.row)
    assert len(found) == 5 * seats


@settings(max_examples=25, deadline=None)
@given(
    seats=st.lists(st.integers(0, 6), min_size=5, max_size=5),
    pool=st.integers(1, 9),
    glasses=st.integers(0, 3),
    classes=st.integers(1, 3),
)
def test_no_limit_is_broken(seats: list[int], pool: int, glasses: int, classes: int) -> None:
    margins = made_up(40)
    cap = dict.fromkeys(margins.states.names[:20], glasses)
    peat = {name: k % 3 for k, name in enumerate(margins.states.names)}
    given_seats = dict(zip("ABCDE", seats, strict=True))
    room = Room(given_seats, pool=pool, glasses=cap, peat=peat, most_classes=classes)
    people = weighing(margins, sum(count > 0 for count in seats))
    poured = fill(people, room)
    casks = names(margins, poured)
    assert len(set(casks)) <= pool
    assert all(casks.count(name) <= cap.get(name, 5) for name in set(casks))
    assert len({peat[name] for name in casks}) <= classes
    assert len({(one.row, one.assessor) for one in poured}) == len(poured)
    for place, name in enumerate(room.assessors):
        assert sum(one.assessor == place for one in poured) <= given_seats[name]


def test_ethanol_limits_seats() -> None:
    room = Room({"A": 6, "B": 6}, grams={"A": 1.0}, grams_a_glass=0.3)
    assert (room.seats_of("A"), room.seats_of("B")) == (3, 6)


def test_a_cask_asked_for_is_poured_and_one_without_is_not() -> None:
    margins = made_up(60)
    plain = names(margins, fill(weighing(margins), Room(dict.fromkeys("ABCDE", 3), pool=5)))
    dull = margins.states.names[int(np.argmax(margins.off))]
    room = Room(dict.fromkeys("ABCDE", 3), pool=5, asked=(dull,), without=frozenset(plain[:1]))
    found = names(margins, fill(weighing(margins), room))
    assert dull not in plain
    assert found[0] == dull
    assert plain[0] not in found


def test_a_far_shed_is_gone_to_only_where_it_pays() -> None:
    margins = made_up(60)
    seats = dict.fromkeys("ABCDE", 3)
    plain = names(margins, fill(weighing(margins), Room(seats, pool=6)))
    sheds = {name: ("Far" if name == plain[0] else "Near") for name in margins.states.names}
    dear = names(margins, fill(weighing(margins), Room(seats, pool=6, sheds=sheds, shed_price=2.0)))
    at_hand = Room(seats, pool=6, sheds=sheds, shed_price=2.0, samples={plain[0]: "a sample"})
    assert plain[0] not in dear
    assert plain[0] in names(margins, fill(weighing(margins), at_hand))


def test_room_that_means_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="Give 0"):
        Room({"A": -1})
    with pytest.raises(InputError, match="pool of 1"):
        Room({"A": 1}, pool=0)
    with pytest.raises(InputError, match="Ask for fewer"):
        Room({"A": 1}, pool=1, asked=("a", "b"))

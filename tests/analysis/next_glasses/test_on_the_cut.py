"""A cask at the cut: what one glass would do is part of what its session does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
import scipy.stats

from analysis.array_types import Matrix, Vector
from analysis.next_glasses import NextSettings, Room, next_for_target
from analysis.next_glasses.changes import changes_of, looked_at
from analysis.next_glasses.deciding import cost_of
from analysis.next_glasses.fill import Poured, fill
from analysis.next_glasses.inverse import inverse_of
from analysis.next_glasses.margins import BestWeighing, Margins, margins_of
from analysis.next_glasses.panel import PanelNoise
from analysis.next_glasses.single import single_glasses
from analysis.next_glasses.states import States
from analysis.target import Target, TargetLine
from analysis.target.off import moments_off

from .houses import FEN, known_house, made_up, weighing

ABOVE_ALL = Target("Above all", (TargetLine("smoke", 100.0, 5.0),))


def weighed(sd: float, means: tuple[float, ...] = (60.0, 57.0)) -> BestWeighing:
    """Casks on one note, far below the aim: points off are the aim less the note."""
    n = len(means)
    states = States(
        names=tuple(f"c{row}" for row in range(n)),
        notes=("smoke",),
        mean=np.array(means)[:, None],
        own=np.full((n, 1, 1), sd**2),
        shared=np.zeros((n, 1, 1)),
        common=np.zeros(1),
        unnosed=np.zeros(n, dtype=np.bool_),
        foretellable=np.ones(n, dtype=np.bool_),
    )
    one = np.ones((2, 1))
    panel = PanelNoise(("A", "B"), ("smoke",), one, np.array([[25.0], [100.0]]), np.zeros(1))
    return BestWeighing(margins_of(states, ABOVE_ALL, 1), panel, np.zeros((n, 2, 1)))


def poured(*glasses: tuple[int, int]) -> tuple[BestWeighing, list[Poured]]:
    after = weighed(5.0)
    for row, who in glasses:
        after.pour(row, who)
    return after, [Poured(row, who, 0.0) for row, who in glasses]


def test_a_session_of_one_glass_does_what_the_glass_does_but_for_next_to_nothing() -> None:
    after, glasses = poured((1, 0))
    one = single_glasses(weighed(5.0), after, glasses, np.array([1]), 3)[0]
    # The mean of cask 1 moves by sd^2 / sqrt(sd^2 + noise) = 25 / sqrt(50); it lies 3 below.
    moves = scipy.stats.norm(0.0, 25.0 / np.sqrt(50.0))
    assert one.share == pytest.approx(moves.sf(3.25) / moves.sf(3.0), abs=0.03)
    assert (one.assessor, one.note) == ("A", "smoke")


def test_of_more_glasses_the_steadiest_is_named_and_does_a_part() -> None:
    after, glasses = poured((1, 1), (1, 0))
    one = single_glasses(weighed(5.0), after, glasses, np.array([1]), 3)[0]
    # By both, the mean moves by 25 / sqrt(25 + 1 / (1/25 + 1/100)); what A alone says is in it.
    both, alone = 25.0 / np.sqrt(45.0), 25.0 / np.sqrt(50.0)
    joint = scipy.stats.multivariate_normal([0, 0], [[both**2, alone**2], [alone**2, alone**2]])
    past = scipy.stats.norm(0.0, both).sf(3.0)
    wanted = joint.cdf([-3.0, -3.25]) / past
    assert one.assessor == "A"
    assert one.share == pytest.approx(wanted, abs=0.03)


def test_a_cask_without_a_glass_is_moved_by_the_others_alone() -> None:
    after, glasses = poured((1, 0))
    one = single_glasses(weighed(5.0), after, glasses, np.array([0]), 3)[0]
    assert (one.share, one.assessor, one.note) == (0.0, None, None)


def test_a_glass_that_hardly_moves_a_cask_on_the_cut_changes_nothing() -> None:
    before, after = (weighed(0.1, (60.0, 60.0)) for _ in range(2))
    after.pour(1, 0)
    one = single_glasses(before, after, [Poured(1, 0, 0.0)], np.array([1]), 3)[0]
    assert one.share == 0.0


def test_no_glass_does_more_than_its_session_and_the_cut_has_two_sides() -> None:
    known, room = known_house(unnosed=0, sessions=3), Room(dict.fromkeys("ABCDEF", 6), pool=6)
    asked = next_for_target(known, FEN, 3, room, settings=NextSettings(draws=300))
    best, found = asked.chosen, asked.changes
    assert any(change.one_glass > 0.0 for change in found)
    assert all(change.one_glass <= change.crosses for change in found)
    within = {change.against for change in found if not change.chosen}
    beyond = {change.against for change in found if change.chosen}
    assert len(within) == len(beyond) == 1
    assert within < set(best)
    assert not beyond & set(best)


@pytest.mark.slow
def test_the_part_of_a_glass_is_how_often_both_it_and_its_session_move_the_cask() -> None:
    """All casks of a session drawn together, the chosen anew by where they are then held to be."""
    n, draws = 40, 20_000
    margins, rng = some_unheard_of(n), np.random.default_rng(11)
    before, after = weighing(margins), weighing(margins)
    glasses = fill(after, Room(dict.fromkeys("ABCDE", 6), pool=8))
    cost = cost_of(margins, after.moves, 4000, 5, told=after.told)
    rows = looked_at(margins, cost.crosses, NextSettings())
    told = changes_of(margins, cost, single_glasses(before, after, glasses, rows, 5))
    covariance, mean = margins.states.covariance, margins.states.mean
    left = inverse_of(inverse_of(covariance) + after.told[:, :, None] * np.eye(mean.shape[1]))
    one = {name: told_by_one(before, glasses, name) for name in margins.states.names}
    off_one, off_all = np.empty((draws, n)), np.empty((draws, n))
    for row, name in enumerate(margins.states.names):
        left_one = inverse_of(inverse_of(covariance[row]) + np.diag(one[name]))
        first = mean[row] + normals(rng, covariance[row] - left_one, draws)
        second = first + normals(rng, left_one - left[row], draws)
        for off, at, rest in ((off_one, first, left_one), (off_all, second, left[row])):
            whole = np.broadcast_to(rest, (draws, *rest.shape))
            off[:, row] = moments_off(margins.target, at, whole)[0]
            off[:, row] += margins.off[row] - off[:, row].mean()
    off_all[:, ~margins.states.foretellable & ~after.told.any(axis=1)] = np.inf
    among = np.zeros((draws, n), dtype=np.bool_)
    np.put_along_axis(among, np.argpartition(off_all, 3, axis=1)[:, :4], values=True, axis=1)
    assert max(change.one_glass for change in told) > 0.03
    for change in told:
        row = margins.states.names.index(change.cask)
        cut = margins.cut[row]
        session = among[:, row] != change.chosen
        glass = off_one[:, row] > cut + 0.25 if change.chosen else off_one[:, row] < cut - 0.25
        assert change.crosses == pytest.approx(session.mean(), abs=0.03)
        assert change.one_glass == pytest.approx((session & glass).mean(), abs=0.02)


def some_unheard_of(n: int) -> Margins:
    """Of the last half nobody can say a thing before they are poured; then they may be chosen."""
    plain = made_up(n)
    unheard = np.arange(n) >= n // 2
    own = np.where(unheard[:, None, None], 30.0 * np.eye(2), plain.states.own)
    states = replace(plain.states, foretellable=~unheard, own=own)
    return margins_of(states, plain.target, 4)


def told_by_one(before: BestWeighing, glasses: Sequence[Poured], name: str) -> Vector:
    """What the glass of a cask that tells most says of each note; nothing without one."""
    row = before.names.index(name)
    noses = {glass.assessor for glass in glasses if glass.row == row}
    if not noses:
        return np.zeros(before.counts.shape[2])
    left = before.variances(np.array([row]))[0]
    who = min(noses, key=lambda nose: float(left[nose]))
    found: Vector = before.panel.information(np.ones_like(before.counts[row]))[who]
    return found


def normals(rng: np.random.Generator, covariance: Matrix, draws: int) -> Matrix:
    values, ways = np.linalg.eigh(covariance)
    root = ways * np.sqrt(np.maximum(values, 0.0))
    found: Matrix = rng.standard_normal((draws, len(values))) @ root.T
    return found

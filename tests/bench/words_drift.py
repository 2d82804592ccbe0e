"""Rows: somebody who moves away from the others, and a panel that moves on its own reference.

Worlds are those of `bench_drift`, looked at after every session from the tenth on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from analysis.agreement.sessions.drift_lines import LEAST_SESSIONS, Line, limit_of, weigh
from analysis.agreement.sessions.references import Pours
from tests.bench.bench_drift import FIRST, World, first_calls, wandering
from tests.bench.word_rates import Row

MOVES, PANEL = "moves away from the others", "the panel moves on its own reference"
RULES = {
    MOVES: "the sum of evidence over every start, from all glasses beside the others', passes "
    "2,000 times the notes that are charted; by the same sum one who knew every cask, width and "
    "noise would find 8 points in .90 after 20 sessions and .68 after 10, 12 points in all but "
    ".004 and .03, with .01 called falsely (`tests.bench.bench_drift_bound`): .95 of 8 points is "
    "more than such sessions tell",
    PANEL: "the same sum over the panel's middle on its hidden reference, its batches apart; a "
    "level that wanders is hard to tell from one that moved, which its sentence says",
}
WORLDS, WANDER = 80, 30


@dataclass(frozen=True)
class Called:
    """When each was first called, in a world."""

    world: World
    first: np.ndarray


def _called(world: World, seed: int) -> Called:
    return Called(world, first_calls(world, seed))


def _falsely(drawn: Called) -> Iterator[bool]:
    """Everybody who stood still."""
    yield from (drawn.first[1 if drawn.world.step else 0 :] >= 0).tolist()


def _found(drawn: Called) -> Iterator[bool]:
    """Whoever moved, within twenty sessions."""
    yield bool(drawn.world.at <= drawn.first[FIRST] < drawn.world.at + 20)


@dataclass(frozen=True)
class House:
    """A panel that noses its reference once a session.

    Attributes
    ----------
    step, at
        How far all of them move at once, and in which session.
    batches
        A new batch, another liquid, after so many sessions of each; both are poured in three.
    wander, keeps
        sd of evenings that wander, and how much of one goes on to the next.
    """

    step: float = 0.0
    batches: int = 1
    people: int = 9
    sessions: int = 40
    at: int = 20
    wander: float = 0.0
    keeps: float = 0.0

    def pours(self, seed: int) -> Pours:
        """Draw every pour."""
        rng = np.random.default_rng(seed)
        each = -(-self.sessions // self.batches)
        poured = [
            (session, batch)
            for batch in range(self.batches)
            for session in range(max(0, batch * each - 3), min(self.sessions, (batch + 1) * each))
        ]
        session, batch = np.array(poured).T
        liquid = rng.normal(0.0, 8.0, self.batches)
        evening = rng.normal(0.0, 1.5, self.sessions)
        if self.wander:
            whole = World(people=1, sessions=self.sessions, wander=self.wander, keeps=self.keeps)
            evening += wandering(rng, whole)[0]
        evening += np.where(np.arange(self.sessions) >= self.at, self.step, 0.0)
        score = rng.normal(0.0, 10.0, (self.people, len(session)))
        score += (liquid[batch] + evening[session])[None]
        score[rng.random(score.shape) < 0.2] = np.nan
        names = tuple(f"S{at:02d}" for at in range(self.sessions))
        people = tuple(f"P{at:02d}" for at in range(self.people))
        table = score - np.nanmean(score, axis=1, keepdims=True)
        days = dict.fromkeys(names)
        return Pours(people, names, days, session, batch, {"smoke": table}, None)


def _panel_called(house: House, seed: int) -> int:
    """In which session the panel was first called; -1 for never."""
    whole = house.pours(seed)
    for n in range(LEAST_SESSIONS, house.sessions + 1):
        here = whole.session < n
        table = {note: scores[:, here] for note, scores in whole.adjusted.items()}
        pours = replace(
            *(whole,), session=whole.session[here], batch=whole.batch[here], adjusted=table
        )
        found = pours.panel("smoke")
        line = Line(found.session, found.off, found.level)
        if line.enough and weigh(line).starts.evidence > limit_of("smoke", 1):
            return n - 1
    return -1


def _panel_said(house: House, seed: int) -> bool:
    return _panel_called(house, seed) >= (house.at if house.step else 0)


def _one(said: bool) -> Iterator[bool]:
    yield said


def rows() -> Iterator[Row]:
    """Every row."""
    yield from _of_people()
    yield from _of_panels()


def _of_people() -> Iterator[Row]:
    base = World(people=14)
    still = {
        "normal noise": base,
        "heavy tails (Student, 3 degrees of freedom)": replace(base, heavy=True),
        "beside one who moves 8 points after 20": replace(base, step=8.0, at=20),
    }
    for at, (which, world) in enumerate(still.items()):
        where = f"nobody else does, 40 sessions of 14, {which}"
        draw, most = partial(_called, world), 4 * WORLDS
        yield Row(
            f"drift-still-{at}", MOVES, where, 0.01, True, draw, _falsely, WORLDS, most, "houses"
        )
    for points, after, asked in ((8, 20, 0.95), (8, 10, 0.70), (12, 20, None), (12, 10, None)):
        where = f"{points} points after {after} sessions, within 20 more"
        moved = replace(base, step=float(points), at=after, sessions=after + 20)
        name = f"drift-step-{after}" + ("" if points == 8 else f"-{points}")
        draw = partial(_called, moved)
        yield Row(name, MOVES, where, asked, False, draw, _found, WORLDS, WORLDS, "houses")
    for sd, keeps in ((2, 0.7), (3, 0.8)):
        where = f"nobody steps, all wander by {sd} points, {keeps} of it goes on to the next"
        draw = partial(_called, replace(base, wander=float(sd), keeps=keeps))
        name = f"drift-wander-{sd}"
        yield Row(name, MOVES, where, None, True, draw, _falsely, WANDER, WANDER, "houses")


def _of_panels() -> Iterator[Row]:
    """With two batches the step comes eight sessions after the second one took over."""
    houses = (
        ("still-1", House(), 0.05),
        ("step-1", House(8.0), 0.8),
        ("still-2", House(batches=2), 0.05),
        ("step-2", House(8.0, batches=2, at=28), None),
        ("wander-3", House(wander=3.0, keeps=0.7), None),
        ("wander-5", House(wander=5.0, keeps=0.7), None),
    )
    for name, house, asked in houses:
        moved = f"all by 8 points after {house.at} sessions" if house.step else "nobody does"
        where = f"{moved}, 40 sessions of {house.people}, batches: {house.batches}"
        if house.wander:
            where += f", sessions wander by {house.wander:.0f} points and keep {house.keeps} of it"
        draw, false = partial(_panel_said, house), not house.step
        yield Row(f"drift-panel-{name}", PANEL, where, asked, false, draw, _one, 200, 800, "houses")

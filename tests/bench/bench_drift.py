"""How often somebody is called who stands still, and how soon somebody who moved.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_drift [WORLDS] [NAME]...

A lead who looks after every session, from the tenth on: everything is fitted anew at each look,
noise included, as the product does. Everybody is absent one time in five, casks are chosen ten
points higher from the middle on, tails are heavy where a row says so. Rates with one standard error
(worlds hang together: by worlds). A row that misses what is asked of it says so.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.agreement.sessions.drift_lines import LEAST_SESSIONS, weigh_people
from analysis.agreement.sessions.off_others import Glasses, NoteTable

N_GLASSES = 8
OPINION = 3.0
"""sd of a person's level from session to session, and of their opinion of a cask, in points."""
SCATTER = 10.0
CASKS = 15.0
CHOSEN = 10.0
FIRST = 0


@dataclass(frozen=True)
class World:
    """One kind of house.

    Attributes
    ----------
    step, at
        How far the first assessor moves, and in which session.
    wander, keeps
        sd of levels that wander, and how much of one goes on to the next session.
    """

    people: int = 14
    notes: int = 1
    sessions: int = 40
    step: float = 0.0
    at: int = 0
    absent: float = 0.2
    chosen: float = CHOSEN
    heavy: bool = False
    wander: float = 0.0
    keeps: float = 0.0

    def draw(self, seed: int) -> Glasses:
        """Draw every score."""
        rng = np.random.default_rng(seed)
        there = rng.random((self.people, self.sessions)) >= self.absent
        level = rng.normal(0.0, OPINION, (self.people, self.sessions))
        level += wandering(rng, self) + rng.normal(0.0, 8.0, (self.people, 1))
        level[FIRST] += np.where(np.arange(self.sessions) >= self.at, self.step, 0.0)
        own = SCATTER * np.exp(rng.normal(0.0, 0.2, self.people))
        names = tuple(f"S{at:02d}" for at in range(self.sessions))
        notes = {f"note {at}": self._note(rng, there, level, own) for at in range(self.notes)}
        people = tuple(f"P{at:02d}" for at in range(self.people))
        return Glasses(people, names, tuple(None for _ in names), notes)

    def _note(
        self, rng: np.random.Generator, there: np.ndarray, level: np.ndarray, own: np.ndarray
    ) -> NoteTable:
        session = np.repeat(np.arange(self.sessions), N_GLASSES)
        casks = rng.normal(40.0, CASKS, len(session))
        casks += np.where(session >= self.sessions // 2, self.chosen, 0.0)
        shape = (self.people, len(session))
        noise = rng.standard_t(3, shape) / np.sqrt(3.0) if self.heavy else rng.normal(0, 1, shape)
        width = np.clip(rng.normal(1.0, 0.25, (self.people, 1)), 0.4, 1.8)
        score = width * (casks + rng.normal(0.0, OPINION, shape)) + noise * own[:, None]
        score += level[:, session] + rng.normal(0.0, 3.0, (self.people, 1))
        return NoteTable(np.where(there[:, session], score, np.nan), np.eye(self.sessions)[session])


def wandering(rng: np.random.Generator, world: World) -> np.ndarray:
    """Levels that wander, (people, sessions)."""
    found = np.zeros((world.people, world.sessions))
    found[:, 0] = rng.normal(0.0, 1.0, world.people)
    fresh = np.sqrt(1.0 - world.keeps**2)
    for at in range(1, world.sessions):
        found[:, at] = world.keeps * found[:, at - 1] + fresh * rng.normal(0, 1, world.people)
    return world.wander * found


def until(glasses: Glasses, n: int) -> Glasses:
    """The first n sessions."""
    notes = {}
    for name, table in glasses.notes.items():
        here = table.at[:, :n].any(axis=1)
        notes[name] = NoteTable(table.score[:, here], table.at[here, :n])
    return replace(glasses, sessions=glasses.sessions[:n], dates=glasses.dates[:n], notes=notes)


def first_calls(world: World, seed: int) -> np.ndarray:
    """In which session each was first called on anything, counted from nought; -1 for never."""
    glasses = world.draw(seed)
    found = np.full(world.people, -1)
    for n in range(LEAST_SESSIONS, world.sessions + 1):
        for who, _ in weigh_people(until(glasses, n)).called:
            at = glasses.people.index(who)
            found[at] = n - 1 if found[at] < 0 else found[at]
    return found


@dataclass(frozen=True)
class Row:
    """A rate that is asked for; `found` of the one who moved, else of everybody else."""

    name: str
    asked: float | None
    found: bool
    world: World


def rows() -> Iterator[Row]:
    """Every rate."""
    for people in (14, 6):
        for notes in (1, 6):
            base = World(people=people, notes=notes)
            name = f"{people} people, {notes} notes"
            yield Row(f"still: {name}", 0.01, False, base)
            yield Row(f"still, heavy tails: {name}", 0.01, False, replace(base, heavy=True))
            for keeps in (0.7, 0.9):
                wanders = replace(base, wander=2.0, keeps=keeps)
                yield Row(f"wandering, {keeps} goes on: {name}", None, False, wanders)
            moved = replace(base, step=8.0, at=20)
            yield Row(f"beside one who moved: {name}", 0.01, False, moved)
            yield Row(f"step of 8 after 20 sessions: {name}", 0.95, True, moved)
            early = replace(base, step=8.0, at=10, sessions=30)
            yield Row(f"step of 8 after 10 sessions: {name}", 0.70, True, early)


def measure(row: Row, worlds: int) -> tuple[float, float]:
    """The rate and its standard error."""
    rates = []
    for seed in range(worlds):
        calls = first_calls(row.world, seed)
        if row.found:
            rates.append(float(row.world.at <= calls[FIRST] < row.world.at + 20))
        else:
            rates.append(float(np.mean(calls[1 if row.world.step else 0 :] >= 0)))
    return float(np.mean(rates)), float(np.std(rates) / np.sqrt(worlds))


def main(words: Sequence[str]) -> None:
    """Print each rate."""
    worlds = int(words[0]) if words else 100
    for row in rows():
        if words[1:] and not any(part in row.name for part in words[1:]):
            continue
        rate, error = measure(row, worlds)
        asked = "" if row.asked is None else f"asked {row.asked:.2f}"
        met = row.asked is None or (rate >= row.asked if row.found else rate <= row.asked)
        print(f"{row.name:<48} {rate:.4f} +- {error:.4f} {asked} {'' if met else 'MISSED'}")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1:])

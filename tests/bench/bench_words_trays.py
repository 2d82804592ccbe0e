"""How often a tray is said to have been mixed up where it was not, and where it was.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words_trays [SESSIONS]

Each row is measured over so many made-up sessions through `assess_agreement`: trays as they were
recorded (also of people who guess, or use a narrow line; casks alike; heavy tails), two glasses
exchanged by how far apart they are, a tray moved on by one glass, the trays of two people
exchanged, and half the panel with its notes reversed.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd

from analysis.agreement import AgreementSettings, PanelWord, Swap, assess_agreement
from analysis.agreement.one_session.swaps import Exchange, exchanged
from tests.bench.word_rows import HEAD, Hits, Row, measured
from tests.bench.word_worlds import FIRST, Casks, Flight, Guess, Tails

SETTINGS = AgreementSettings(permutations=99, bootstraps=19)
REAL = (Casks.SKEWED, Casks.UNIFORM) * 3
SIZES = ((6, 6), (8, 8), (12, 12))
SECOND = "P01"


@dataclass(frozen=True)
class Mixed:
    """A kind of session, and what happened to the first tray in it.

    Attributes
    ----------
    kind
        None for a session as it was recorded.
    apart
        Of a pair: between which distances of the two by the truth, root mean square over notes.
    reversed_notes
        Notes that the second half of the panel has the other way round.
    """

    flight: Flight
    kind: Exchange | None = None
    apart: tuple[float, float] = (0.0, np.inf)
    reversed_notes: int = 0

    def drawn(self, seed: int) -> pd.DataFrame | None:
        """A session; None where no two glasses are so far apart."""
        (scores,) = self.flight.sessions(seed)
        rng = np.random.default_rng([seed, 77])
        scores = _placed(scores, rng)
        if self.reversed_notes:
            scores = _reversed(scores, self.flight.n_assessors // 2, self.reversed_notes)
        if self.kind is None:
            return scores
        swap = self._swap(scores, rng)
        return None if swap is None else _mixed(scores, swap)

    def _swap(self, scores: pd.DataFrame, rng: np.random.Generator) -> Swap | None:
        if self.kind is Exchange.MOVED:
            by = int(rng.choice([1, -1]))
            return Swap((), None, 1.0, 1.0, 0, kind=Exchange.MOVED, by=by)
        if self.kind is Exchange.TRAYS:
            return Swap((), None, 1.0, 1.0, 0, kind=Exchange.TRAYS, other=SECOND)
        means = scores.groupby(["sample", "descriptor"])["score"].mean().unstack()
        values = means.to_numpy()
        far = np.sqrt(np.mean((values[:, None] - values[None]) ** 2, axis=2))
        first, second = np.triu_indices(len(values), 1)
        fits = (far[first, second] >= self.apart[0]) & (far[first, second] < self.apart[1])
        if not fits.any():
            return None
        at = int(rng.choice(np.flatnonzero(fits)))
        names = (str(means.index[first[at]]), str(means.index[second[at]]))
        return Swap(names, (1, 1), 1.0, 1.0, 0)


def _placed(scores: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Every tray in an order of its own."""
    keys = ["assessor", "sample", "replicate"]
    glasses = scores[keys].drop_duplicates()
    glasses = glasses.assign(draw=rng.random(len(glasses)))
    glasses["position"] = glasses.groupby("assessor")["draw"].rank().astype(int)
    return scores.merge(glasses.drop(columns="draw"), on=keys)


def _reversed(scores: pd.DataFrame, n: int, notes: int) -> pd.DataFrame:
    """The first `n` assessors with some notes the other way round about their own middle."""
    who = scores["assessor"].isin([f"P{place:02d}" for place in range(n)])
    rows = who & scores["descriptor"].isin([f"note {place:02d}" for place in range(notes)])
    level = scores.groupby(["assessor", "descriptor"])["score"].transform("mean")
    turned = (2.0 * level - scores["score"]).clip(0.0, 100.0).round()
    return scores.assign(score=scores["score"].where(~rows, turned))


def _mixed(scores: pd.DataFrame, swap: Swap) -> pd.DataFrame:
    """The glasses in one another's place; the codes and places as they were planned.

    What somebody wrote of a glass stays with the place it was written at.
    """
    return exchanged(scores, FIRST, swap)


def trays_said(world: Mixed, seed: int) -> Hits:
    """Of every tray of a session: was anything said of it?"""
    scores = world.drawn(seed)
    if scores is None:
        return
    for person in assess_agreement(scores, settings=SETTINGS, with_history=False).assessors:
        yield person.swap is not None


def found(world: Mixed, seed: int) -> Hits:
    """Whether what happened to the first tray is said of it."""
    scores = world.drawn(seed)
    if scores is None:
        return
    swap = assess_agreement(scores, settings=SETTINGS, with_history=False).assessor(FIRST).swap
    yield swap is not None and swap.kind is world.kind


def innocent(world: Mixed, seed: int) -> Hits:
    """Of the trays to which nothing happened in such a session."""
    scores = world.drawn(seed)
    if scores is None:
        return
    judged = assess_agreement(scores, settings=SETTINGS, with_history=False)
    for person in judged.assessors:
        if person.assessor != FIRST and (
            world.kind is not Exchange.TRAYS or person.assessor != SECOND
        ):
            yield person.swap is not None


def camps(world: Mixed, seed: int) -> Hits:
    """Whether any note of a session is said to have two camps."""
    scores = world.drawn(seed)
    if scores is None:
        return
    judged = assess_agreement(scores, settings=SETTINGS, with_history=False)
    yield any(note.verdict.word is PanelWord.CAMPS for note in judged.descriptors)


def false_rows() -> Iterator[Row]:
    """Trays as they were recorded."""
    sentence = "a tray mixed up"
    for i, j in SIZES:
        base = Flight(i, j, REAL)
        worlds = {
            "good panel": base,
            "fair panel": replace(base, cell_sd=16.0),
            "heavy tails": replace(base, tails=Tails.HEAVY),
            "notes that go astray together": replace(base, tails=Tails.TOGETHER),
            "one who guesses": replace(base, guess=Guess.UNIFORM),
            "one with a liking": replace(base, guess=Guess.TOGETHER),
            "one with a narrow line": replace(base, scale=0.5),
            "one with noise x 2": replace(base, noise=2.0),
            "equal casks": replace(base, casks=(Casks.EQUAL,) * 6),
            "one note": replace(base, casks=REAL[:1]),
        }
        for where, flight in worlds.items():
            judge = partial(trays_said, Mixed(flight))
            yield Row(sentence, f"as recorded, {where}, {i} x {j}", 0.005, True, judge)
        half = Mixed(base, reversed_notes=6)
        judge = partial(trays_said, half)
        yield Row(sentence, f"half the panel reversed, {i} x {j}", 0.005, True, judge)
        for kind in Exchange:
            judge = partial(innocent, Mixed(base, kind))
            where = f"another tray: {kind}, {i} x {j}"
            yield Row(sentence, where, 0.005, True, judge)


def found_rows() -> Iterator[Row]:
    """Trays to which something happened."""
    for i, j in SIZES:
        for panel, cell in (("good", 8.0), ("fair", 16.0)):
            flight = Flight(i, j, REAL, cell_sd=cell)
            good = panel == "good"
            for kind, asked in (
                (Exchange.MOVED, 0.9 if good else 0.5),
                (Exchange.TRAYS, 0.9 if good else 0.5),
                (Exchange.PAIR, 0.4 if good else 0.1),
            ):
                judge = partial(found, Mixed(flight, kind))
                yield Row(str(kind), f"{panel} panel, {i} x {j}", asked, False, judge)
    flight = Flight(12, 12, REAL)
    for low, high, asked in ((0.0, 8.0, 0.0), (8.0, 12.0, 0.4), (12.0, np.inf, 0.8)):
        judge = partial(found, Mixed(flight, Exchange.PAIR, (low, high)))
        where = f"{low:g} to {high:g} apart, 12 x 12"
        yield Row(str(Exchange.PAIR), where, asked, False, judge)
    heavy = Flight(12, 12, REAL, tails=Tails.HEAVY)
    judge = partial(found, Mixed(heavy, Exchange.MOVED))
    yield Row(str(Exchange.MOVED), "heavy tails, 12 x 12", 0.9, False, judge)


def camp_rows() -> Iterator[Row]:
    """Two camps."""
    sentence = "two camps"
    for i, j in SIZES:
        base = Flight(i, j, REAL)
        worlds = {
            "good panel": base,
            "heavy tails": replace(base, tails=Tails.HEAVY),
            "one who guesses": replace(base, guess=Guess.UNIFORM),
            "fair panel": replace(base, cell_sd=16.0),
            "20 notes of equal casks": replace(base, casks=(Casks.EQUAL,) * 20),
        }
        for where, flight in worlds.items():
            judge = partial(camps, Mixed(flight))
            yield Row(sentence, f"one panel, {where}, {i} x {j}", 0.05, True, judge)
    for i, j in SIZES:
        for notes in (1, 6):
            world = Mixed(Flight(i, j, REAL), reversed_notes=notes)
            asked = 0.9 if i == 12 else 0.5
            where = f"half the panel reversed on {notes} of 6 notes, {i} x {j}"
            yield Row(sentence, where, asked, False, partial(camps, world))


def rows() -> Iterator[Row]:
    """All of them."""
    yield from false_rows()
    yield from found_rows()
    yield from camp_rows()


def main(sessions: int) -> None:
    """Print everything."""
    started = time.process_time()
    print(*HEAD, sep="\n")
    for row in rows():
        line = measured(row, sessions).line()
        print(f"{line}  {time.process_time() - started:.0f} s", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)

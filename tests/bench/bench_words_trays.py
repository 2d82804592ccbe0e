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
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.agreement import AgreementSettings, Swap
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.camps import two_camps
from analysis.agreement.one_session.exchanges import find_exchanges
from analysis.agreement.one_session.notes import _too_little_told
from analysis.agreement.one_session.serving import note_order, with_order, without_order
from analysis.agreement.one_session.swaps import Exchange, exchanged
from analysis.agreement.one_session.trays import TrayNote
from analysis.frames import usable
from tests.bench.word_rates import Row, grouped, line, measure
from tests.bench.word_worlds import FIRST, REAL, SIZES, Casks, Flight, Guess, Tails

SETTINGS = AgreementSettings(permutations=99, bootstraps=19)
NOTES = REAL * 3
SECOND = "P01"
MIXED = "a tray that was mixed up"
CAMPS = "two camps"
RULES = {
    MIXED: "posterior of a whole tray, all notes together, at least .8 (two glasses exchanged, "
    "moved on by one, the trays of two people exchanged: 5, 1 and 3 trays in 100 before "
    "looking), and the person reads with the others under it",
    CAMPS: "the others of each camp tell the samples apart the same way, the other camp the "
    "opposite way, beyond what a panel would by chance",
}


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

    def __call__(self, seed: int) -> Trays | None:
        """Draw and judge; None where no two glasses are so far apart."""
        scores = self._drawn(seed)
        return None if scores is None else judged(scores)

    def _drawn(self, seed: int) -> pd.DataFrame | None:
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


@dataclass(frozen=True)
class Trays:
    """What is said of a session's trays and camps."""

    people: tuple[str, ...]
    swaps: Mapping[str, Swap]
    camps: bool


def judged(scores: pd.DataFrame) -> Trays:
    """Look at trays and camps as `assess_agreement` does, and at nothing else, which is quicker."""
    ordered = with_order(usable(scores).scores)
    notes, camps = [], False
    parts = [part for _, part in ordered.groupby("descriptor")]
    for rows in parts:
        plain, effect = without_order(rows)
        layout = ScoreLayout.of(plain)
        order = note_order(layout, rows, effect)
        f = (additive(layout.means).f or 0.0) * (1.0 if order is None else order.kept)
        told = _too_little_told(layout, f, SETTINGS.tolerance, SETTINGS) is None
        notes.append(TrayNote(plain, 1.0, max(0.0, 1.0 - 1.0 / f) if f > 0.0 else 0.0, told))
        camps = camps or two_camps(layout, len(parts), SETTINGS) is not None
    people = tuple(sorted(set(scores["assessor"])))
    return Trays(people, find_exchanges(notes, SETTINGS), camps)


def any_tray(found: Trays | None) -> Iterator[bool]:
    """Of every tray of a session: was anything said of it?"""
    if found is not None:
        for name in found.people:
            yield name in found.swaps


@dataclass(frozen=True)
class Said:
    """Of the first tray: was this said of it; or, of those that nothing happened to, anything."""

    kind: Exchange
    innocent: bool = False

    def __call__(self, found: Trays | None) -> Iterator[bool]:
        """Read a judged session."""
        if found is None:
            return
        if not self.innocent:
            swap = found.swaps.get(FIRST)
            yield swap is not None and swap.kind is self.kind
            return
        guilty = {FIRST, SECOND} if self.kind is Exchange.TRAYS else {FIRST}
        for name in found.people:
            if name not in guilty:
                yield name in found.swaps


def any_camps(found: Trays | None) -> Iterator[bool]:
    """Whether any note of a session is said to have two camps."""
    if found is not None:
        yield found.camps


def rows() -> list[Row]:
    """Rows of the page."""
    return [*_as_recorded(), *_mixed_up(), *_by_distance()]


def _as_recorded() -> Iterator[Row]:
    """Sessions in which nothing happened: neither a tray nor two camps may be spoken of."""
    for i, j in SIZES:
        base = Flight(i, j, NOTES)
        worlds = {
            "good": ("good panel", base),
            "fair": ("fair panel", replace(base, cell_sd=16.0)),
            "heavy": ("heavy tails", replace(base, tails=Tails.HEAVY)),
            "together": ("notes that go astray together", replace(base, tails=Tails.TOGETHER)),
            "guess": ("one who guesses", replace(base, guess=Guess.UNIFORM)),
            "liking": ("one with a liking", replace(base, guess=Guess.TOGETHER)),
            "narrow": ("one with a narrow line", replace(base, scale=0.5)),
            "noisy": ("one with noise x 2", replace(base, noise=2.0)),
            "equal": ("20 notes of equal casks", replace(base, casks=(Casks.EQUAL,) * 20)),
            "one-note": ("one note", replace(base, casks=REAL[:1])),
        }
        for short, (where, flight) in worlds.items():
            draw = Mixed(flight)
            at = f"as recorded, {where}, {i} x {j}"
            name = f"tray-as-is-{short}-{i}"
            yield Row(name, MIXED, at, 0.005, True, draw, any_tray, most=1600)
            yield Row(f"camps-{short}-{i}", CAMPS, at, 0.05, True, draw, any_camps, most=1600)


def _mixed_up() -> Iterator[Row]:
    """Sessions in which something happened to the first tray, or half the panel is reversed."""
    asked: Mapping[Exchange, tuple[float | None, float | None]] = {
        Exchange.MOVED: (0.9, None),
        Exchange.TRAYS: (None, None),
        Exchange.PAIR: (0.4, None),
    }
    for i, j in SIZES:
        for at, (panel, cell) in enumerate((("good", 8.0), ("fair", 16.0))):
            for kind, rates in asked.items():
                draw = Mixed(Flight(i, j, NOTES, cell_sd=cell), kind)
                where, name = f"{panel} panel, {i} x {j}", f"tray-{kind.name.lower()}-{panel}-{i}"
                yield Row(name, str(kind), where, rates[at], False, draw, Said(kind))
                where = f"the other trays where one is: {kind}, {panel} panel, {i} x {j}"
                read = Said(kind, innocent=True)
                yield Row(f"{name}-others", MIXED, where, 0.005, True, draw, read, most=1600)
        for notes in (1, 6):
            draw = Mixed(Flight(i, j, NOTES), reversed_notes=notes)
            where = f"half the panel reversed on {notes} of 6 notes, {i} x {j}"
            least = 0.9 if notes == 6 else None
            name = f"camps-half-{notes}-{i}"
            yield Row(name, CAMPS, where, least, False, draw, any_camps)
            yield Row(f"tray-as-is-half-{notes}-{i}", MIXED, where, 0.005, True, draw, any_tray)


def _by_distance() -> Iterator[Row]:
    """Two glasses exchanged, by how far apart the panel has them, over all notes."""
    flight = Flight(12, 12, NOTES)
    for low, high, asked in ((0.0, 8.0, None), (8.0, 12.0, None), (12.0, np.inf, None)):
        draw = Mixed(flight, Exchange.PAIR, (low, high))
        where = f"{low:g} to {high:g} points apart, 12 x 12"
        name = f"tray-pair-{low:g}-apart"
        yield Row(name, str(Exchange.PAIR), where, asked, False, draw, Said(Exchange.PAIR))
    draw = Mixed(replace(flight, tails=Tails.HEAVY), Exchange.MOVED)
    where = "heavy tails, 12 x 12"
    yield Row(
        *("tray-moved-heavy", str(Exchange.MOVED), where, 0.9, False, draw, Said(Exchange.MOVED))
    )


def main(draws: int) -> None:
    """Print every row after so many sessions."""
    started = time.process_time()
    for part in grouped(rows()):
        for row, tally in measure([replace(row, draws=draws, most=draws) for row in part]):
            print(f"{line(row, tally)} {time.process_time() - started:.0f} s", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)

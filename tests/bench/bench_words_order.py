"""How well intervals and words hold where notes fade or build up along the tray.

    OPENBLAS_NUM_THREADS=1 python -m tests.bench.bench_words_order [SESSIONS]

Sessions with rising classes, with an order of everybody's own and with one order for all; a fall
of 1.8 points a glass, none, or one that is another in each session; smoke that hangs on into the
next glass; normal noise and heavy tails. Printed are the share of 95 % intervals of differences
that hold the truth, and the root mean square error of the sample means, with the order taken
out and as if it were not on record.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
import pandas as pd
from scipy.stats import t as student

from analysis.agreement import AgreementSettings, PanelWord, assess_agreement
from analysis.agreement import Served as ServedHow
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.serving import (
    known_before,
    note_order,
    serving_of,
    with_order,
    without_order,
)
from tests.bench.word_worlds import Tails

SETTINGS = AgreementSettings(permutations=99, bootstraps=99, least_duplicates=0)
SMOKE = "birch smoke"
NOTES = (SMOKE, "plum", "wax")
CARRY = 0.12


class Trays(StrEnum):
    """How glasses come to the assessors."""

    RISING = "rising classes"
    OWN = "orders of one's own"
    ONE = "one order"


@dataclass(frozen=True)
class Served:
    """One kind of session.

    Attributes
    ----------
    fall, fall_sd
        Points that a glass further on is lower, and its spread from session to session.
    carry
        Points for one point of smoke in the glass before.
    again
        Earlier sessions in which a glass of the first class came again at the end.
    equal
        Whether all casks are equal.
    """

    n_assessors: int
    n_samples: int
    trays: Trays = Trays.RISING
    fall: float = 1.8
    fall_sd: float = 0.0
    carry: float = 0.0
    tails: Tails = Tails.NORMAL
    cell_sd: float = 8.0
    again: int = 0
    equal: bool = False

    def drawn(self, seed: int) -> tuple[pd.DataFrame, pd.DataFrame, np.ndarray]:
        """A session, the sessions before it, and the truth by sample and note."""
        rng = np.random.default_rng([seed, self.n_assessors, self.n_samples])
        truth, classes = self._truth(rng)
        now = self._session(rng, truth, classes, None)
        before = [self._session(rng, *self._truth(rng), visit) for visit in range(self.again)]
        return now, pd.concat(before) if before else now.iloc[:0], truth

    def _truth(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        n = self.n_samples
        classes = np.sort(rng.permutation(np.arange(n) % 3))
        truth = 30.0 + 8.0 * np.sqrt(3.0) * rng.uniform(-1.0, 1.0, (n, len(NOTES)))
        truth[:, 0] = 8.0 + 18.0 * classes + rng.uniform(0.0, 14.0, n)
        if self.equal:
            truth[:] = 45.0
        return truth + 12.0, classes

    def _orders(self, rng: np.random.Generator, classes: np.ndarray) -> np.ndarray:
        """Glasses in their order, by assessor; the first of all once more at the end."""
        n = len(classes)
        at = np.arange(n)
        if self.trays is Trays.ONE:
            return np.tile(rng.permutation(n), (self.n_assessors, 1))
        keys = classes if self.trays is Trays.RISING else 0 * classes
        draws = [at[np.lexsort((rng.random(n), keys))] for _ in range(self.n_assessors)]
        return np.array(draws)

    def _session(
        self,
        rng: np.random.Generator,
        truth: np.ndarray,
        classes: np.ndarray,
        visit: int | None,
    ) -> pd.DataFrame:
        again = [] if visit is None else [0]
        orders = self._orders(rng, classes)
        orders = np.hstack([orders, np.tile(again, (self.n_assessors, 1))]).astype(int)
        fall = rng.normal(self.fall, self.fall_sd, len(NOTES))
        shape = (*orders.shape, len(NOTES))
        noise = rng.normal(size=shape)
        if self.tails is Tails.HEAVY:
            noise = rng.standard_t(3, shape) / np.sqrt(3.0)
        before = np.full(orders.shape, np.nan)
        before[:, 1:] = truth[orders[:, :-1], 0]
        before = np.where(np.isnan(before), truth[:, 0].mean(), before) - truth[:, 0].mean()
        place = np.arange(orders.shape[1]) - (orders.shape[1] - 1.0) / 2.0
        y = truth[orders] - fall * place[None, :, None] + self.carry * before[:, :, None]
        y = y + rng.normal(0.0, 6.0, (self.n_assessors, 1, len(NOTES))) + self.cell_sd * noise
        i, g, d = (part.ravel() for part in np.indices(shape))
        name = "now" if visit is None else f"before {visit}"
        return pd.DataFrame(
            {
                "session": name,
                "held_on": f"2031-0{9 if visit is None else 2 + visit}-04",
                "assessor": [f"P{n:02d}" for n in i],
                "sample": [f"{name} {n:02d}" for n in orders[i, g]],
                "replicate": 1 + (g >= len(classes)),
                "position": g + 1,
                "descriptor": np.array(NOTES)[d],
                "score": np.clip(y.ravel(), 0.5, 99.5),
            }
        ).assign(kind="test", held_on=lambda frame: pd.to_datetime(frame["held_on"]))


@dataclass
class Tally:
    """What came of a kind of session."""

    pairs: int = 0
    held: int = 0
    across: int = 0
    across_held: int = 0
    squares: float = 0.0
    means: int = 0

    def take(self, note: Means, truth: np.ndarray, classes: np.ndarray) -> None:
        """Count one note."""
        off = note.columns - note.columns.mean() - (truth - truth.mean())
        self.squares, self.means = self.squares + float(off @ off), self.means + len(off)
        i, j = np.triu_indices(len(truth), 1)
        spread = np.diag(note.covariance)
        se = np.sqrt(spread[i] + spread[j] - 2.0 * note.covariance[i, j])
        wide = student.ppf(0.975, note.df) * se
        found = note.columns[i] - note.columns[j] - (truth[i] - truth[j])
        hit, across = np.abs(found) <= wide, classes[i] != classes[j]
        self.pairs, self.held = self.pairs + len(hit), self.held + int(hit.sum())
        self.across += int(across.sum())
        self.across_held += int((hit & across).sum())

    @property
    def words(self) -> str:
        """The figures."""
        across = self.across_held / self.across if self.across else float("nan")
        rmse = float(np.sqrt(self.squares / self.means))
        return f"{self.held / self.pairs:.3f} | {across:.3f} | {rmse:.2f}"


@dataclass(frozen=True)
class Means:
    """Sample means of one note, and their covariance with what is not known of the order."""

    name: str
    columns: np.ndarray
    covariance: np.ndarray
    df: int


def notes_of(scores: pd.DataFrame, earlier: pd.DataFrame) -> Iterator[Means]:
    """Each note beside the sessions before it, as `lay_out_note` does and nothing else of it."""
    now, before = (
        with_order(part.assign(scale_low=0.0, scale_high=100.0, status="kept"))
        for part in (scores, earlier)
    )
    classes = serving_of(now).served is ServedHow.CLASSES
    for name, rows in now.groupby("descriptor"):
        year = before[before["descriptor"] == name] if len(before) else before
        known = known_before(year, rows, 1.0)[0] if classes else None
        plain, effect = without_order(rows, known)
        layout = ScoreLayout.of(plain)
        order, fit = note_order(layout, rows, effect), additive(layout.means)
        more = 0.0 if order is None else order.spread
        yield Means(str(name), fit.columns, fit.variance * fit.unit + more, fit.df)


def measure(kind: Served, sessions: int) -> tuple[Tally, Tally]:
    """With the order taken out, and as if it were not on record."""
    found = (Tally(), Tally())
    for seed in range(sessions):
        now, before, truth = kind.drawn(seed)
        classes = kind._truth(np.random.default_rng([seed, kind.n_assessors, kind.n_samples]))[1]
        for tally, rows in zip(found, (now, now.assign(position=np.nan)), strict=True):
            for note in notes_of(rows, before):
                place = NOTES.index(note.name)
                tally.take(note, truth[:, place], classes)
    return found


def false_words(kind: Served, sessions: int) -> tuple[int, int]:
    """How often equal casks in one order are safe to act on or worth a second look."""
    said = chances = 0
    for seed in range(sessions):
        now, _, _ = kind.drawn(seed)
        for note in assess_agreement(now, settings=SETTINGS).descriptors:
            said += note.verdict.word in (PanelWord.SAFE, PanelWord.SECOND_LOOK)
            chances += 1
    return said, chances


def kinds() -> Iterator[tuple[str, Served]]:
    """All kinds that intervals are measured on."""
    for size in ((6, 6), (8, 8), (12, 12)):
        base = Served(*size)
        name = f"{size[0]} x {size[1]}"
        yield f"rising classes, fall 1.8, {name}", base
        yield f"rising classes, fall 1.8, heavy tails, {name}", replace(base, tails=Tails.HEAVY)
        yield f"rising classes, no fall, {name}", replace(base, fall=0.0)
        yield f"own orders, fall 1.8, {name}", replace(base, trays=Trays.OWN)
        yield f"own orders, no fall, {name}", replace(base, trays=Trays.OWN, fall=0.0)
        hangs = replace(base, carry=CARRY, fall=1.0, fall_sd=0.5)
        yield f"rising, smoke hangs on, fall 1.0 give or take .5, {name}", hangs
        yield f"rising, fall 1.8, a glass again in 4 sessions, {name}", replace(base, again=4)


def main(sessions: int) -> None:
    """Print everything."""
    started = time.process_time()
    print("| sessions | in 95 % | across classes | rmse | without: in 95 % | across | rmse |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, kind in kinds():
        found, bare = measure(kind, sessions)
        print(f"| {name} | {found.words} | {bare.words} |", flush=True)
    for trays in Trays:
        for fall in (0.0, 1.8):
            kind = Served(8, 8, trays=trays, equal=True, fall=fall)
            said, chances = false_words(kind, sessions)
            print(f"{trays}, equal casks, fall {fall:g}, 8 x 8: acted on {said} of {chances} notes")
    print(f"{time.process_time() - started:.0f} s of processor")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400)

"""Rows: intervals where notes fade along the tray, in one session and over several."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from tests.bench.bench_profile_order import PER_SESSION, SETTINGS, Hits, Poured, hits
from tests.bench.bench_words_order import NOTES, Served, Trays, notes_of
from tests.bench.word_rates import Row
from tests.bench.word_worlds import SIZES

MISSED = "an interval of a difference misses it"
BAND = "a band of a cask misses it"
RULES = {
    MISSED: "place on the tray and the smoke before it are always terms of the fit of a session, "
    "drawn to nothing (sd of .8 points a glass, .15 for one of smoke), and 95 % intervals hold "
    "what is not known of them",
    BAND: "the same terms in the one model over all sessions; 90 % bands",
}
FALL = 1.8


@dataclass(frozen=True)
class Intervals:
    """Whether each 95 % interval of a difference holds the truth, in one session."""

    served: Served

    def __call__(self, seed: int) -> list[bool]:
        """Draw and fit."""
        now, before, truth = self.served.drawn(seed)
        found: list[bool] = []
        for note in notes_of(now, before):
            true = truth[:, NOTES.index(note.name)]
            i, j = np.triu_indices(len(true), 1)
            spread = np.diag(note.covariance)
            se = np.sqrt(spread[i] + spread[j] - 2.0 * note.covariance[i, j])
            off = note.columns[i] - note.columns[j] - (true[i] - true[j])
            found += (np.abs(off) <= student.ppf(0.975, note.df) * se).tolist()
        return found


@dataclass(frozen=True)
class Bands:
    """Whether the profile's 90 % bands of the casks hold the truth."""

    poured: Poured
    order: bool = True

    def __call__(self, seed: int) -> Hits:
        """Draw and fit."""
        return hits(*self.poured.drawn(seed), SETTINGS["with" if self.order else "without"])


def missed(found: list[bool]) -> Iterator[bool]:
    """Intervals that do not hold the truth."""
    for held in found:
        yield not held


def band_missed(found: Hits) -> Iterator[bool]:
    """Bands that do not hold the truth."""
    for held in found.held.ravel():
        yield not held


def rows() -> Iterator[Row]:
    """All rows on the order of serving."""
    for n_people, n_samples in SIZES:
        for trays, short in ((Trays.RISING, "rising"), (Trays.OWN, "own")):
            served = Served(n_people, n_samples, trays=trays, fall=FALL)
            where = f"{n_people} x {n_samples}, {trays}, a fall of {FALL:g} a glass"
            name = f"order-{short}-{n_people}x{n_samples}"
            draw = Intervals(served)
            yield Row(name, MISSED, where, 0.1, True, draw, missed, draws=400, most=1200)
    yield from _profile_rows()


def _profile_rows() -> Iterator[Row]:
    kinds = [
        (Poured(trays, fall=fall), order, "24 casks twice", 0.10 if order else None)
        for trays in Trays
        for fall in (FALL, 0.0)
        for order in (True, False)
    ]
    alone = Poured(Trays.RISING, fall=FALL, n_casks=PER_SESSION)
    for poured, order, casks, asked in [*kinds, (alone, True, "8 casks once", None)]:
        fall = f"a fall of {poured.fall:g} a glass" if poured.fall else "no fall"
        where = f"{casks}, 8 people, {poured.trays}, {fall}"
        where += "" if order else ", as if the order were not on record"
        parts = ["order-profile", poured.trays.name.lower(), "fall" if poured.fall else "none"]
        parts += ["once"] * (poured is alone) + ["bare"] * (not order)
        draw = Bands(poured, order)
        yield Row(
            "-".join(parts), BAND, where, asked, True, draw, band_missed,
            draws=200, most=1000, of="houses",
        )  # fmt: skip

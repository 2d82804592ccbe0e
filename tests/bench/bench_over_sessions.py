"""Whether the bound of a panel's reliability over sessions holds, and who is flagged wrongly.

Run: .venv/bin/python -m tests.bench.bench_over_sessions [PANELS]

Made-up houses whose truth is known, 200 of each kind or so many as are asked for: scales of sd .3,
noise of 8 points times or over 1.5, lasting disagreement of 4 points, moods, absences, a reference
each evening and one blind duplicate. Printed are how often the truth lies below the lower bound
(for these very people, and for the mean panel they are drawn from; the bound is to be passed one
time in ten), how often a note on which samples do not differ is called safe, and for each word on
an assessor how often the truth bears it out.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from analysis.agreement import AgreementSettings, AssessorWord, over_sessions
from tests.houses.people import NOTE, House, Truth, draw, people

SETTINGS = AgreementSettings(bootstraps=499)


def mean_panel(house: House) -> float:
    """Reliability of the mean panel of that size."""
    many = people(replace(house, odd=False), 100_000, np.random.default_rng(1))
    told = many.spread**2 * np.mean(many.scale**2 / (many.noise**2 + many.opinion**2))
    told *= house.n_assessors
    return float(told / (1.0 + told))


@dataclass(frozen=True)
class Outcome:
    """One house read by the one model, beside the truth."""

    reliability: float
    low: float
    truth: float
    words: tuple[tuple[AssessorWord | None, bool], ...]


def read(house: House, seed: int) -> Outcome | None:
    """Read one house; a word comes with whether the truth bears it out."""
    scores, truth = draw(house, seed)
    found = over_sessions(scores, settings=SETTINGS, seed=seed)[NOTE]
    if found.reliability is None or found.reliability_low is None:
        return None
    judged = found.not_judging(SETTINGS) is None
    words = [
        (word, borne_out(word, int(name[1:]), truth))
        for name, person in found.people.items()
        if judged and (word := person.word(SETTINGS)) is not None
    ]
    return Outcome(found.reliability, found.reliability_low, truth.reliability, tuple(words))


def borne_out(word: AssessorWord | None, i: int, truth: Truth) -> bool:
    """Whether a word is true of somebody."""
    follows = truth.scale > 0.0
    width = truth.scale[i] / truth.scale[follows].mean()
    noise = truth.noise / np.maximum(truth.scale / truth.scale[follows].mean(), 1.0)
    with_panel = bool(truth.signal_share[i] > SETTINGS.least_signal_share and width > 0.0)
    return {
        AssessorWord.REVERSED: bool(width < 0.0),
        AssessorWord.UNSTEADY: bool(noise[i] > SETTINGS.unsteady_multiple * np.median(noise)),
        AssessorWord.WIDER: with_panel and bool(width > 1.0),
        AssessorWord.NARROWER: with_panel and bool(width < 1.0),
    }.get(word or AssessorWord.WITH, with_panel)


HOUSES = {
    "six sessions": House(),
    "two sessions": House(n_sessions=2),
    "twenty sessions": House(n_sessions=20),
    "samples alike": House(spread=1e-6),
    "faint": House(spread=4.0),
    "five people": House(n_assessors=5),
    "people alike": House(scale_sd=0.0, noise_ratio=1.0),
    "one flat, one reversed": House(odd=True, n_sessions=12),
}


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    print(f"{'house':<24}{'R':>6}{'truth':>7}{'these':>7}{'mean':>7}{'safe':>6}  borne out")
    with ProcessPoolExecutor(2) as pool:
        for name, house in HOUSES.items():
            outcomes = pool.map(partial(read, house), range(n), chunksize=5)
            print_row(name, house, [part for part in outcomes if part is not None])


def print_row(name: str, house: House, found: list[Outcome]) -> None:
    low = np.array([part.low for part in found])
    truth = np.array([part.truth for part in found])
    value = np.array([part.reliability for part in found])
    safe = (value >= SETTINGS.safe_reliability) & (low >= SETTINGS.safe_low)
    said, right = Counter[str](), Counter[str]()
    for word, is_true in (pair for part in found for pair in part.words):
        said[str(word)] += 1
        right[str(word)] += is_true
    words = ", ".join(f"{word.split()[-1]} {right[word]}/{n}" for word, n in said.items())
    print(
        f"{name:<24}{value.mean():>6.2f}{truth.mean():>7.2f}{np.mean(truth < low):>7.2f}"
        f"{np.mean(mean_panel(house) < low):>7.2f}{safe.mean():>6.2f}  {words}",
        flush=True,
    )


if __name__ == "__main__":
    main()

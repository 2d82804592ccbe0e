"""Rows: who stands apart from the others, and who does not, where all score in own words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from analysis.agreement import AgreementSettings
from analysis.agreement.own_words.assess import assess_own_words
from analysis.agreement.own_words.result import OwnWords
from analysis.agreement.verdict.own_words import APART_FROM
from analysis.agreement.verdict.words import AssessorWord
from tests.bench.word_rates import Row

APART, WITH = "far from the others (own words)", "reads with the panel (own words)"
RULES = {
    APART: f"the layout of the glasses is no nearer to the others' than chance gives {APART_FROM} "
    "of the time, over six samples at least",
    WITH: "the layout of the glasses is nearer to the others' than chance gives .05 of the time",
}
SETTINGS = replace(AgreementSettings(), permutations=199)
ODD = "P0"
HEADINGS = ["session", "assessor", "sample", "replicate", "word", "score"]
SPREAD, DIRECTIONS, WORDS = 20.0, 3, 4


@dataclass(frozen=True)
class Evening:
    """So many noses and samples, four words each; the first nose may lay out glasses of its own."""

    samples: int
    people: int = 8
    odd: bool = False
    noise: float = 12.0

    def __call__(self, seed: int) -> OwnWords:
        """Draw and judge."""
        rng = np.random.default_rng(seed)
        shape = (self.samples, DIRECTIONS)
        shared, rows = rng.normal(0.0, SPREAD, shape), []
        for nose in (f"P{n}" for n in range(self.people)):
            own = rng.normal(0.0, SPREAD, shape) if self.odd and nose == ODD else shared
            for word in range(WORDS):
                way = rng.normal(size=DIRECTIONS)
                felt = 45 + own @ way / np.linalg.norm(way)
                felt += rng.normal(0.0, self.noise, self.samples)
                said = np.clip(felt, 0, 100).round()
                rows += [("W", nose, f"x{n}", 1, f"w{word}", one) for n, one in enumerate(said)]
        return assess_own_words(pd.DataFrame(rows, columns=HEADINGS), settings=SETTINGS, seed=seed)


def _said(word: AssessorWord, found: OwnWords, *, odd: bool) -> Iterator[bool]:
    for one in found.assessors:
        if not odd or one.assessor == ODD:
            yield one.verdict.word is word


def all_apart(found: OwnWords) -> Iterator[bool]:
    """Whether each is said to stand apart."""
    return _said(AssessorWord.APART, found, odd=False)


def odd_apart(found: OwnWords) -> Iterator[bool]:
    """Whether the first one is said to stand apart."""
    return _said(AssessorWord.APART, found, odd=True)


def all_with(found: OwnWords) -> Iterator[bool]:
    """Whether each is said to read with the panel."""
    return _said(AssessorWord.WITH, found, odd=False)


def odd_with(found: OwnWords) -> Iterator[bool]:
    """Whether the first one is said to read with the panel."""
    return _said(AssessorWord.WITH, found, odd=True)


def rows() -> Iterator[Row]:
    """Give every row."""
    for samples in (6, 8):
        where = f"eight noses, {samples} samples"
        like, odd = Evening(samples), Evening(samples, odd=True)
        alike, other = f"{where}, all as the others", f"{where}, one with a layout of its own"
        name = f"own-{{}}-{samples}"
        yield Row(name.format("apart"), APART, alike, 0.05, True, like, all_apart, 150, 1500)
        yield Row(name.format("apart-true"), APART, other, None, False, odd, odd_apart, 200, 200)
        yield Row(name.format("with"), WITH, other, 0.07, True, odd, odd_with, 200, 4000)
        yield Row(name.format("with-true"), WITH, alike, None, False, like, all_with, 150, 150)

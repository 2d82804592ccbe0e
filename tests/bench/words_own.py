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
CONFIRM = "confirm that it means a note (own words)"
RULES = {
    APART: f"the layout of the glasses is no nearer to the others' than chance gives {APART_FROM} "
    "of the time, over six samples at least",
    CONFIRM: "the note of the house is the nearest both on the map and by the word's own scores, "
    "and a word of chance numbers comes as near in either way .05 of the time at most",
    WITH: "the layout of the glasses is nearer to the others' than chance gives .05 of the time",
}
SETTINGS = replace(AgreementSettings(), permutations=199)
ODD = "P0"
HEADINGS = ["session", "assessor", "sample", "replicate", "word", "score"]
SPREAD, DIRECTIONS, WORDS = 20.0, 3, 4
HOUSE_NOTES = 8
Told = tuple[str | None, str | None]
"""What a word means, and the note that it is put forward as."""


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


@dataclass(frozen=True)
class Meaning:
    """Noses with three words each, laid beside eight notes of the house.

    Every word means one of the notes, `along` of which run on one shared direction and the others
    each on their own; or, `nothing`, it is a word of chance numbers beside those of the others.
    """

    samples: int
    along: int
    people: int = 5
    nothing: bool = False
    noise: float = 6.0

    def __call__(self, seed: int) -> list[Told]:
        """Draw and judge; give of each word what it means and what it is said to mean."""
        rng = np.random.default_rng([seed, 43])
        shared = rng.normal(0.0, SPREAD, self.samples)
        notes = {
            f"note {k}": 45.0
            + (
                rng.choice([0.6, 1.0]) * shared + rng.normal(0.0, 0.3 * SPREAD, self.samples)
                if k < self.along
                else rng.normal(0.0, SPREAD, self.samples)
            )
            for k in range(HOUSE_NOTES)
        }
        means: dict[tuple[str, str], str | None] = {}
        rows = []
        for nose in (f"P{n}" for n in range(self.people)):
            for word, note in enumerate(rng.choice(sorted(notes), WORDS - 1, replace=False)):
                empty = self.nothing and word == 0
                felt = rng.normal(45.0, SPREAD, self.samples) if empty else notes[note]
                means[nose, f"w{word}"] = None if empty else str(note)
                said = np.clip(felt + rng.normal(0.0, self.noise, self.samples), 0, 100).round()
                rows += [("W", nose, f"x{n}", 1, f"w{word}", one) for n, one in enumerate(said)]
        house = [(f"x{n}", k, v) for k, each in notes.items() for n, v in enumerate(each.tolist())]
        found = assess_own_words(
            pd.DataFrame(rows, columns=HEADINGS),
            house=pd.DataFrame(house, columns=["sample", "descriptor", "estimate"]),
            settings=SETTINGS,
            seed=seed,
        )
        return [
            (means[one.assessor, one.word], None if one.perhaps else one.proposed)
            for one in found.words
        ]


def none_confirmed(found: list[Told]) -> Iterator[bool]:
    """Of each word that means nothing, whether a note is to be confirmed."""
    return (told is not None for means, told in found if means is None)


def wrong_confirmed(found: list[Told]) -> Iterator[bool]:
    """Of each word that means a note, whether another is to be confirmed."""
    return (told not in {None, means} for means, told in found if means is not None)


def right_confirmed(found: list[Told]) -> Iterator[bool]:
    """Of each word that means a note, whether that is to be confirmed."""
    return (told == means for means, told in found if means is not None)


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
        yield from _confirmed(samples)


def _confirmed(samples: int) -> Iterator[Row]:
    """Rows on the note that a word is put to the lead as meaning."""
    where = f"five noses, {samples} samples, eight notes of the house"
    free, alike = Meaning(samples, 0), Meaning(samples, 6)
    empty = replace(free, nothing=True)
    few = (100, 800)
    for name, world, told, asked, read in (
        ("none", empty, "a word of chance numbers", 0.05, none_confirmed),
        ("wrong", free, "the wrong note", 0.05, wrong_confirmed),
        (
            "wrong-alike",
            alike,
            "the wrong note, six notes run nearly together",
            0.1,
            wrong_confirmed,
        ),
        ("true", free, "the note it means", None, right_confirmed),
        ("true-alike", alike, "the same, six notes run nearly together", None, right_confirmed),
    ):
        most = few if asked is not None else (100, 100)
        row = f"own-confirm-{name}-{samples}"
        yield Row(row, CONFIRM, f"{where}: {told}", asked, asked is not None, world, read, *most)

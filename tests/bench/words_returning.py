"""Rows: words on people whose casks come back by turns, each evening others of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.standing import read_by_note
from analysis.agreement.one_session.with_panel import Told, WithPanel, told_beside
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, Casks, Flight, Guess
from tests.bench.words_people import SETTINGS

WORD = "reads with the panel, casks coming back by turns"
RULES = {
    WORD: "as of one session, with the person's whole glasses changed about among samples that "
    "came equally often; what the others find of a sample that was not there is told from other "
    "sessions, by samples in common",
}


@dataclass(frozen=True)
class Turns:
    """Evenings of so many references and casks that come back by turns, read all together.

    Attributes
    ----------
    flight
        Its samples are all casks of the house; the first are the references.
    n_sessions, n_references, n_casks
        Held so far, and poured in each.
    absent
        Chance that somebody is not there.
    """

    flight: Flight
    n_sessions: int
    n_references: int = 2
    n_casks: int = 6
    absent: float = 0.12
    alone: bool = True

    def __call__(self, seed: int) -> list[WithPanel]:
        """Draw and read."""
        sessions = self.sessions(seed)
        names = [f"P{at:02d}" for at in range(self.flight.n_assessors)]
        return [
            read_by_note(
                [[_told(held[d], name) for held in sessions] for d in range(len(sessions[0]))],
                SETTINGS,
            )
            for name in names[: 1 if self.alone else None]
        ]

    def sessions(self, seed: int) -> list[list[ScoreLayout]]:
        """The evenings, each laid out note by note."""
        rng = np.random.default_rng([seed, 11])
        came = np.zeros(self.flight.n_samples)
        came[: self.n_references] = np.inf
        found = []
        for notes in self.flight.layouts(seed, self.n_sessions):
            picked = np.argsort(came + 0.9 * rng.random(len(came)))[: self.n_casks]
            came[picked] += 1.0
            poured = np.concatenate([np.arange(self.n_references), picked])
            there = np.flatnonzero(rng.random(self.flight.n_assessors) >= self.absent)
            found.append([part_of(note, there, poured) for note in notes])
        return found


def part_of(layout: ScoreLayout, people: np.ndarray, samples: np.ndarray) -> ScoreLayout:
    """The scores that these people gave to these samples."""
    people, samples = np.sort(people), np.sort(samples)
    kept = np.isin(layout.assessor, people) & np.isin(layout.sample, samples)
    return ScoreLayout(
        tuple(layout.assessors[at] for at in people),
        tuple(layout.samples[at] for at in samples),
        np.searchsorted(people, layout.assessor[kept]),
        np.searchsorted(samples, layout.sample[kept]),
        layout.score[kept],
    )


def _told(layout: ScoreLayout, name: str) -> Told | None:
    if name not in layout.assessors:
        return None
    row = layout.assessors.index(name)
    found = told_beside(layout, row, SETTINGS.tolerance, SETTINGS)
    return found if isinstance(found, Told) else None


def read_so(found: Sequence[WithPanel]) -> Iterator[bool]:
    """Whether each reads with the panel."""
    for reading in found:
        yield reading.passed


def against_so(found: Sequence[WithPanel]) -> Iterator[bool]:
    """Whether each surely reads the other way round."""
    for reading in found:
        yield reading.against


def rows() -> Iterator[Row]:
    """All rows on people whose casks come back."""
    house = Flight(8, 24, REAL)
    for guess in (Guess.UNIFORM, Guess.TOGETHER, Guess.LASTING):
        for n in (6, 10, 16):
            flight = replace(house, guess=guess)
            where = f"{guess}, 24 casks by turns, {n} sessions of 8, two of them each time"
            name = f"turns-{guess.name.lower()}-{n}"
            yield Row(name, WORD, where, 0.05, True, Turns(flight, n), read_so)
    lasting = replace(house, guess=Guess.LASTING)
    others = {
        "no-reference": ("no reference", Turns(lasting, 10, 0, 8)),
        "one-note": ("one note", Turns(replace(lasting, casks=REAL[:1]), 10)),
        "six-notes": ("six notes", Turns(replace(lasting, casks=REAL * 3), 10)),
        "outlying": (
            "the first reference 25 above",
            Turns(replace(lasting, casks=(Casks.TWENTY_FIVE, *REAL)), 10),
        ),
        "few": ("12 casks, sessions of 5", Turns(replace(lasting, n_samples=12), 8, 1, 4)),
    }
    for name, (where, draw) in others.items():
        said = f"{Guess.LASTING}, by turns, {where}"
        yield Row(f"turns-lasting-{name}", WORD, said, 0.05, True, draw, read_so)
    for n in (6, 10, 16):
        draw = Turns(house, n, alone=False)
        where = f"good panel, 24 casks by turns, {n} sessions of 8, two of them each time"
        yield Row(f"turns-good-{n}", WORD, where, 0.95, False, draw, read_so)

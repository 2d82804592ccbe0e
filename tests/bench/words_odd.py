"""Rows: what is said of the others where one reads the other way round, or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from analysis.agreement import AssessorWord
from analysis.agreement.one_session.standing import Standing
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, SIZES, Flight, Guess
from tests.bench.words_people import WIDTHS, Standings, habit

WORD = "uses a wider or narrower line"
RULES = {
    WORD: "scale pooled over notes beyond 1.2 or below 1/1.2, without the note furthest off too, "
    "p at most .045; measured on the others without those who follow less than half a point for "
    "one and do not read with the panel",
}


@dataclass(frozen=True)
class Odd:
    """How the first assessor is unlike the others."""

    name: str
    said: str
    scale: float = 1.0
    noise: float = 1.0
    guess: Guess = Guess.NO


ODD = (
    Odd("reversed", "one the other way round", scale=-1.0),
    Odd("flat", "one who gives every glass the same", scale=0.0, noise=0.0),
    Odd("nothing", "one who smells nothing", scale=0.0),
    Odd("guess", "one who guesses", guess=Guess.UNIFORM),
)


def innocents(words: tuple[AssessorWord, ...], found: Sequence[Standing]) -> Iterator[bool]:
    """Whether a way with the line is spoken of, of everybody but the first."""
    yield from habit(words, found[1:])


def rows() -> Iterator[Row]:
    """A panel of each size with each kind of odd one."""
    for i, j in SIZES:
        for odd in ODD:
            flight = Flight(i, j, REAL * 3, scale=odd.scale, noise=odd.noise, guess=odd.guess)
            draw = Standings(flight, alone=False)
            where = f"the others, beside {odd.said}, {i} x {j}"
            read = partial(innocents, WIDTHS)
            yield Row(f"line-{odd.name}-{i}x{j}", WORD, where, 0.05, True, draw, read)

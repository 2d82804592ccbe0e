"""Rows: words on people over several sessions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import pandas as pd

from analysis.agreement import AssessorWord
from analysis.agreement.one_session.serving import all_without_order
from analysis.agreement.sessions.one_model import own_codes, read_model
from analysis.agreement.sessions.span_people import count_blanks, span_assessors
from analysis.agreement.sessions.span_result import SpanAssessor
from analysis.agreement.sessions.span_scores import span_scores
from analysis.frames import on_house_scale, usable
from tests.bench.word_rates import Row
from tests.bench.word_worlds import FIRST, REAL, Flight, Guess, Tails
from tests.bench.words_people import SETTINGS, UNSTEADY, WIDTHS

OVER = "over several sessions"
RULES = {
    f"words on a person, {OVER}": "as of one session, with the notes of all sessions together; a "
    "note is the opposite way round only if the person is (mean correlation at most -.35, p at "
    "most .042), or at a chance above 1 - .2 over the number of notes",
}


@dataclass(frozen=True)
class Evenings:
    """So many sessions of other casks each, judged together as `agreement --since` does people.

    Attributes
    ----------
    turned
        So many notes the first assessor has the other way round.
    """

    flight: Flight
    n: int = 5
    turned: int = 0

    def __call__(self, seed: int) -> Sequence[SpanAssessor]:
        """Draw and judge."""
        scores = pd.concat(
            [self._evening(seed * self.n + at, at) for at in range(self.n)], ignore_index=True
        )
        used = usable(scores)
        everything = on_house_scale(used.scores)
        order = [f"S{at}" for at in range(self.n)]
        model = read_model(own_codes(used.scores, ()), settings=SETTINGS, seed=1)
        notes = span_scores(all_without_order(everything), order, SETTINGS, model)
        return span_assessors(notes, everything, [], count_blanks(used.blanks), SETTINGS)

    def _evening(self, seed: int, at: int) -> pd.DataFrame:
        (drawn,) = self.flight.sessions(seed)
        drawn = drawn.assign(session=f"S{at}", sample=f"S{at}" + drawn["sample"])
        notes = sorted(set(drawn["descriptor"]))[: self.turned]
        own = (drawn["assessor"] == FIRST) & drawn["descriptor"].isin(notes)
        turned = (100.0 - drawn["score"]).clip(0.0, 100.0)
        return drawn.assign(score=drawn["score"].where(~own, turned))


def words_said(
    words: tuple[AssessorWord, ...], found: Sequence[SpanAssessor], *, first: bool = False
) -> Iterator[bool]:
    """Whether one of these is said: of the first assessor, or of everybody."""
    for person in found[: 1 if first else None]:
        yield person.verdict.word in words


def others_said(words: tuple[AssessorWord, ...], found: Sequence[SpanAssessor]) -> Iterator[bool]:
    """Whether one of these is said of anybody but the first."""
    yield from words_said(words, found[1:])


MANY = (400, 1200, "spans")
"""Of five sessions each."""
REVERSED: tuple[AssessorWord, ...] = (AssessorWord.REVERSED,)
_WITH: tuple[AssessorWord, ...] = (AssessorWord.WITH, *WIDTHS)
BASE = Flight(8, 6, REAL * 3)
WHERE = "five sessions of other casks, 8 x 6"


def rows() -> Iterator[Row]:
    """All rows on people over sessions."""
    yield from _false_rows()
    yield from _true_rows()


def _false_rows() -> Iterator[Row]:
    panels = {
        "good": BASE,
        "fair": replace(BASE, cell_sd=16.0),
        "heavy": replace(BASE, tails=Tails.HEAVY),
        "together": replace(BASE, tails=Tails.TOGETHER),
    }
    for name, flight in panels.items():
        draw, where = Evenings(flight), f"nobody does, {flight.tails}, cell sd {flight.cell_sd:g}"
        for short, word, words in (
            ("turned", "opposite way round", REVERSED),
            ("line", "uses a wider or narrower line", WIDTHS),
            ("steady", "less steady than the others", UNSTEADY),
        ):
            read = partial(words_said, words)
            said, told = f"{word}, {OVER}", f"{where}, {WHERE}"
            yield Row(f"span-{short}-{name}", said, told, 0.05, True, draw, read, *MANY)
    for guess in (Guess.UNIFORM, Guess.REPEATS, Guess.TOGETHER):
        draw, short = Evenings(replace(BASE, guess=guess)), guess.name.lower()
        for word, said_as, label in (
            ("reads with the panel", _WITH, "with"),
            ("opposite way round", REVERSED, "turned"),
        ):
            read = partial(words_said, said_as, first=True)
            name, where = f"span-{label}-guess-{short}", f"{guess}, {WHERE}"
            yield Row(name, f"{word}, {OVER}", where, 0.05, True, draw, read, *MANY)
    draw, read = Evenings(replace(BASE, scale=-1.0)), partial(others_said, WIDTHS)
    where = f"the others, beside one the other way round, {WHERE}"
    word = f"uses a wider or narrower line, {OVER}"
    yield Row("span-line-beside", word, where, 0.05, True, draw, read, *MANY)


def _true_rows() -> Iterator[Row]:
    draw = Evenings(BASE)
    read = partial(words_said, _WITH)
    word = f"reads with the panel, {OVER}"
    yield Row("span-with-good", word, f"good panel, {WHERE}", 0.95, False, draw, read, *MANY)
    fair = Evenings(replace(BASE, cell_sd=16.0))
    yield Row("span-with-fair", word, f"fair panel, {WHERE}", None, False, fair, read, *MANY)
    word = f"opposite way round, {OVER}"
    for n in (1, 6):
        draw, where = Evenings(BASE, turned=n), f"{n} of 6 notes, {WHERE}"
        read = partial(words_said, REVERSED, first=True)
        least = 0.9 if n > 1 else None
        yield Row(f"span-turned-{n}", word, where, least, False, draw, read, *MANY)
    one = Evenings(BASE, turned=1)
    word = f"uses a wider or narrower line, {OVER}"
    read = partial(words_said, WIDTHS, first=True)
    where = f"one with a note the other way round, {WHERE}"
    yield Row("span-line-turned", word, where, 0.05, True, one, read, *MANY)
    for name, word, flight, words in (
        ("narrower", "uses a narrower line", replace(BASE, scale=0.6), (AssessorWord.NARROWER,)),
        ("unsteady", "less steady than the others", replace(BASE, noise=2.0), UNSTEADY),
    ):
        read = partial(words_said, words, first=True)
        where = f"scale x .6, {WHERE}" if name == "narrower" else f"noise x 2, {WHERE}"
        yield Row(
            f"span-{name}", f"{word}, {OVER}", where, 0.65, False, Evenings(flight), read, *MANY
        )

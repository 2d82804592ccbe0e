"""Rows: words on casks and on the session."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from analysis.agreement import Agreement, PairWord, PanelWord, TwoCasks, assess_agreement, two_casks
from analysis.agreement.indices.flight import FlightSpan, flight_span, over_visits
from analysis.agreement.indices.layout import ScoreLayout
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, SIZES, Casks, Flight, Tails
from tests.bench.words_people import SETTINGS, Session

APART = (PanelWord.SAFE, PanelWord.SECOND_LOOK)
RULES = {
    "casks alike on this note": "span of the means below the .035 quantile of the spans of "
    "flights with two casks 10 apart and the rest in the middle, drawn with the session's own "
    "error as far as its degrees of freedom tell it; at most 10, and only where like casks would "
    "be found so in .18 of sessions and the error has five degrees of freedom",
    "no two differ by more than U": "the least distance of two casks for which so small a span "
    "is rarer than .035",
    "alike (two named casks)": "distance plus t(.95) standard errors at most 10",
    "surely apart (two named casks)": "more than 10 by a t test on the degrees of freedom of the "
    "error that leaves the wider interval, single scores' or people's means over sessions, held "
    "down over the notes (Benjamini & Hochberg 1995, .05)",
    "act with a second look": "reliability at least .6, and a difference that stands among all "
    "notes (Benjamini & Hochberg 1995, .05)",
    "do not act on": "the panel misses differences of two tolerances, by its own error: how "
    "unlike the casks of the session are does not come into it",
    "low scores left blank": "blanks lie on lower glasses than any of the same trays would, three "
    "times in a hundred notes by chance",
}


@dataclass(frozen=True)
class Spans:
    """How far apart the casks of a flight are and may be, note by note, over its visits.

    Casks are called alike by this and nothing else, unless they are told apart for sure or the
    panel is in two camps; every hundredth draw is judged as a panel lead gets it as well, and must
    come to the same.
    """

    flight: Flight
    visits: int = 1
    checked: bool = True
    """Against the whole; not where a session as small as that gets no verdict at all."""

    def __call__(self, seed: int) -> list[FlightSpan | None]:
        """Draw and weigh."""
        sessions = self.flight.layouts(seed, self.visits)
        found = [self._span([notes[d] for notes in reversed(sessions)])
                 for d in range(len(self.flight.casks))]  # fmt: skip
        if self.checked and seed % 100 == 0:
            self._check(seed, found)
        return found

    def _span(self, layouts: Sequence[ScoreLayout]) -> FlightSpan | None:
        visits = over_visits(layouts, layouts[0].samples)
        if visits is None:
            return None
        return flight_span(visits.fit, SETTINGS.tolerance, visits.error)

    def _check(self, seed: int, found: Sequence[FlightSpan | None]) -> None:
        for note, span in zip(
            Session(self.flight, self.visits)(seed).descriptors, found, strict=True
        ):
            first = note.verdict.word in (PanelWord.SAFE, PanelWord.CAMPS)
            alike = span is not None and span.alike and not first
            if alike is not (note.verdict.word is PanelWord.ALIKE):
                raise RuntimeError(f"{self} comes to something else than the whole, draw {seed}")


@dataclass(frozen=True)
class Pair:
    """The first and the third cask of a flight, named beforehand, over its visits."""

    flight: Flight
    visits: int = 1

    def __call__(self, seed: int) -> TwoCasks:
        """Draw and compare."""
        scores = pd.concat(self.flight.sessions(seed, self.visits), ignore_index=True)
        return two_casks(scores, "x00", "x02", settings=SETTINGS)


@dataclass(frozen=True)
class Blanks:
    """A session with a share of the lines left blank: the lowest, or any."""

    flight: Flight
    lowest: bool
    share: float = 0.12

    def __call__(self, seed: int) -> Agreement:
        """Draw, leave blank and judge."""
        (scores,) = self.flight.sessions(seed)
        by = scores["score"] + np.random.default_rng([seed, 9]).normal(0.0, 1.0, len(scores))
        if not self.lowest:
            by = by.sample(frac=1.0, random_state=seed).set_axis(by.index)
        cut = by.groupby(scores["descriptor"]).transform(lambda s: s.quantile(self.share))
        scores["score"] = scores["score"].where(by >= cut)
        return assess_agreement(scores, settings=SETTINGS, with_history=False)


def notes_said(
    flight: Flight, kinds: tuple[Casks, ...], words: tuple[PanelWord, ...], found: Agreement
) -> Iterator[bool]:
    """Whether a word is said of each note of these kinds."""
    for note, kind in zip(found.descriptors, flight.casks, strict=True):
        if kind in kinds:
            yield note.verdict.word in words


def alike_said(found: Sequence[FlightSpan | None]) -> Iterator[bool]:
    """Whether casks are called alike, note by note."""
    for span in found:
        yield span is not None and span.alike


def bound_fails(found: Sequence[FlightSpan | None]) -> Iterator[bool]:
    """Whether "no two differ by more than" is below what they differ by, 12."""
    for span in found:
        yield span is not None and span.at_most < 12.0


def headline(found: Agreement) -> Iterator[bool]:
    """Whether the session as a whole is one to look at twice, or safe."""
    yield found.verdict.word in APART


def said_of_two(word: PairWord, found: TwoCasks) -> Iterator[bool]:
    """Whether a word is said of two casks, note by note."""
    for note in found.notes:
        yield note.verdict.word is word


def blanks_said(found: Agreement) -> Iterator[bool]:
    """Whether blanks are said to hang on the level."""
    for note in found.descriptors:
        yield note.low_blanks is not None


def rows() -> Iterator[Row]:
    """All rows on casks and sessions."""
    yield from _alike_rows()
    yield from _two_rows()
    yield from _look_rows()
    yield from _blank_rows()


def _alike_rows() -> Iterator[Row]:
    word = "casks alike on this note"
    good, fair = 8.0, 16.0
    for (i, j), cell, tails in (
        *((size, good, Tails.NORMAL) for size in (*SIZES, (12, 16))),
        *((size, fair, Tails.NORMAL) for size in SIZES),
        ((12, 12), good, Tails.HEAVY),
        ((8, 8), fair, Tails.HEAVY),
        ((8, 8), fair, Tails.GROWING),
    ):
        flight = Flight(i, j, (Casks.ONE_OFF,) * 8, cell_sd=cell, tails=tails)
        kind = "good" if cell == good else "fair"
        name = f"alike-{kind}-{tails.name.lower()}-{i}x{j}"
        where = f"one cask 12 off, {kind} panel, {tails}, {i} x {j}"
        yield Row(name, word, where, 0.02, True, Spans(flight), alike_said)
        if (i, cell) == (8, good):
            most, short = "no two differ by more than U", "at-most-8x8"
            yield Row(short, most, where, 0.05, True, Spans(flight), bound_fails)
    for visits, found in ((1, 0.35), (2, 0.60), (4, 0.75)):
        flight = Flight(12, 12, (Casks.EQUAL,) * 6)
        where = f"equal casks, good panel, 12 x 12, sessions: {visits}"
        draw = Spans(flight, visits)
        yield Row(f"alike-equal-{visits}", word, where, found, False, draw, alike_said)


def _two_rows() -> Iterator[Row]:
    alike, apart = "alike (two named casks)", "surely apart (two named casks)"
    for i, found in ((12, 0.85), (8, 0.60), (6, 0.35)):
        read = partial(said_of_two, PairWord.ALIKE)
        draw = Pair(Flight(i, 8, (Casks.EQUAL,) * 6))
        yield Row(f"two-equal-{i}", alike, f"equal, {i} x 8", found, False, draw, read)
        for tails in (Tails.NORMAL, Tails.HEAVY):
            draw = Pair(Flight(i, 8, (Casks.TWELVE,) * 6, tails=tails))
            name, where = f"two-12-{tails.name.lower()}-{i}", f"12 apart, {tails}, {i} x 8"
            yield Row(name, alike, where, 0.025, True, draw, read)
    read = partial(said_of_two, PairWord.APART)
    for tails in (Tails.NORMAL, Tails.HEAVY):
        draw = Pair(Flight(8, 8, (Casks.TEN,) * 6, tails=tails))
        name, where = f"two-10-{tails.name.lower()}", f"10 apart on every note, {tails}, 8 x 8"
        yield Row(name, apart, where, 0.05, True, draw, read)
    for i, j, visits in ((2, 3, 8), (2, 6, 4), (2, 6, 16), (3, 6, 8), (8, 6, 8)):
        draw = Pair(Flight(i, j, (Casks.TEN,), cell_sd=16.0), visits)
        name, where = f"two-10-{i}x{j}-{visits}", f"10 apart, fair panel, {i} x {j}, sessions: "
        yield Row(name, apart, f"{where}{visits}", 0.06, True, draw, read, 2000, 6000)
    draw = Pair(Flight(8, 8, (Casks.TWENTY_FIVE,) * 6))
    yield Row("two-25", apart, "25 apart, 8 x 8", 0.8, False, draw, read)


def _look_rows() -> Iterator[Row]:
    word = "act with a second look"
    for tails in (Tails.NORMAL, Tails.HEAVY, Tails.TOGETHER):
        draw = Session(Flight(8, 6, (Casks.EQUAL,) * 20, tails=tails))
        where = f"the session, 20 notes of equal casks, {tails}, 8 x 6"
        yield Row(f"look-{tails.name.lower()}", word, where, 0.08, True, draw, headline)
    flight = Flight(6, 6, (*REAL * 3, Casks.EQUAL, Casks.EQUAL))
    read = partial(notes_said, flight, REAL, APART)
    where = "or safe: sd 8 between casks, 6 x 6"
    yield Row("look-found", word, where, 0.80, False, Session(flight), read)
    rivals = Flight(8, 8, (Casks.RIVALS,) * 6)
    read = partial(notes_said, rivals, (Casks.RIVALS,), (PanelWord.DO_NOT,))
    where = "good panel, rival casks (sd 3), 8 x 8"
    yield Row("do-not-rivals", "do not act on", where, 0.05, True, Session(rivals), read)


def _blank_rows() -> Iterator[Row]:
    word = "low scores left blank"
    for tails in (Tails.NORMAL, Tails.HEAVY):
        draw = Blanks(Flight(8, 8, REAL * 2, tails=tails), lowest=False)
        where = f"blanks anywhere, {tails}, 8 x 8"
        yield Row(f"blank-any-{tails.name.lower()}", word, where, 0.05, True, draw, blanks_said)
    draw = Blanks(Flight(8, 8, REAL * 2), lowest=True)
    where = "the lowest 12 in 100 left blank, 8 x 8"
    yield Row("blank-low", word, where, 0.7, False, draw, blanks_said)

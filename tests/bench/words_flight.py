"""Rows: small flights, and the guard that keeps means which lie too near from being alike."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.agreement import Agreement, PanelWord, assess_agreement
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.flight import FlightSpan, flight_span
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, SIZES, Casks, Flight, Tails
from tests.bench.words_casks import Spans, alike_said
from tests.bench.words_people import SETTINGS

GUARD = "means too near to be weighed"
RULES = {
    GUARD: "span of the means below the .002 quantile of spans of equal casks: errors are not "
    "what they are taken for, and nothing is said of alike",
}
_ASKED = 0.02
_SMALL = ((2, 2), (2, 6), (3, 2), (3, 6), (6, 2), (8, 2), (12, 2))
_TAILS = (Tails.NORMAL, Tails.HEAVY, Tails.GROWING)


@dataclass(frozen=True)
class HalfReversed:
    """A flight of which half the panel reads every note the other way round."""

    flight: Flight
    judged: bool = False
    """As a panel lead gets it, or the flight by itself."""

    def __call__(self, seed: int) -> list[FlightSpan | None] | Agreement:
        """Draw and weigh, or judge."""
        if self.judged:
            return self._judged(seed)
        (notes,) = self.flight.layouts(seed)
        turned = [
            replace(note, score=np.where(note.assessor % 2, note.score, 90.0 - note.score))
            for note in notes
        ]
        return [flight_span(additive(note.means), SETTINGS.tolerance) for note in turned]

    def _judged(self, seed: int) -> Agreement:
        (scores,) = self.flight.sessions(seed)
        half = scores["assessor"].str[1:].astype(int) % 2 == 0
        scores["score"] = scores["score"].where(~half, (90.0 - scores["score"]).clip(0.0, 100.0))
        return assess_agreement(scores, settings=SETTINGS, with_history=False)


def alike_in_all(found: Agreement) -> Iterator[bool]:
    """Whether casks are called alike when all is said, note by note."""
    for note in found.descriptors:
        yield note.verdict.word is PanelWord.ALIKE


def guarded(found: Sequence[FlightSpan | None]) -> Iterator[bool]:
    """Whether the means are too near to be weighed, note by note."""
    for span in found:
        yield span is None


def rows() -> Iterator[Row]:
    """All rows on small flights and on the guard."""
    word = "casks alike on this note"
    for i, j in _SMALL:
        for kind, cell in (("good", 8.0), ("fair", 16.0)):
            for tails in _TAILS:
                flight = Flight(i, j, (Casks.ONE_OFF,) * 8, cell_sd=cell, tails=tails)
                name = f"alike-small-{kind}-{tails.name.lower()}-{i}x{j}"
                where = f"one cask 12 off, {kind} panel, {tails}, {i} x {j}"
                draw = Spans(flight, checked=False)
                yield Row(name, word, where, _ASKED, True, draw, alike_said)
    for i, j in ((6, 2), (6, 6), (12, 2)):
        draw = Spans(Flight(i, j, (Casks.EQUAL,) * 6), checked=False)
        where = f"equal casks, good panel, {i} x {j}"
        yield Row(f"alike-small-equal-{i}x{j}", word, where, None, False, draw, alike_said)
    yield from _guard_rows()


def _guard_rows() -> Iterator[Row]:
    for i, j in SIZES:
        for tails in Tails:
            equal = Spans(Flight(i, j, (Casks.EQUAL,) * 8, tails=tails), checked=False)
            name, where = f"near-{tails.name.lower()}-{i}x{j}", f"equal casks, {tails}, {i} x {j}"
            yield Row(name, GUARD, where, 0.005, True, equal, guarded)
        flight = Flight(i, j, REAL * 3, cell_sd=4.0)
        where = f"half the panel reversed, cell sd 4, {i} x {j}"
        draw = HalfReversed(flight)
        yield Row(f"near-half-{i}x{j}", GUARD, where, None, False, draw, guarded)
        name, whole = f"alike-half-{i}x{j}", HalfReversed(flight, judged=True)
        yield Row(name, "casks alike on this note", where, 0.05, True, whole, alike_in_all)

"""Rows: two camps on a note, session after session."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from analysis.agreement import PanelWord
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.camps import two_camps
from analysis.agreement.verdict.over_sessions import in_two_camps
from tests.bench.word_rates import Row
from tests.bench.word_worlds import REAL, Flight, Tails
from tests.bench.words_people import SETTINGS

CAMPS = "two camps, over several sessions"
RULES = {
    CAMPS: "two camps in at least half of the sessions that have the note, and in two of them or "
    "the only one"
}
_SESSIONS = 3


@dataclass(frozen=True)
class HalfTurned:
    """Three sessions of other casks; so many people have all notes the other way round."""

    flight: Flight
    turned: int = 0

    def __call__(self, seed: int) -> Sequence[bool]:
        """By note, whether the panel is said to be in two camps on it over the sessions."""
        evenings = [
            [self._word(note) for note in notes]
            for at in range(_SESSIONS)
            for notes in self.flight.layouts(seed * _SESSIONS + at)
        ]
        return [in_two_camps(Counter(words)) for words in zip(*evenings, strict=True)]

    def _word(self, note: ScoreLayout) -> PanelWord:
        """The evening's word, as far as it is a matter of camps."""
        own = note.assessor < self.turned
        score = note.score.copy()
        score[own] = 100.0 - score[own]
        turned = ScoreLayout(note.assessors, note.samples, note.assessor, note.sample, score)
        n_notes = len(self.flight.casks)
        found = two_camps(turned, n_notes, SETTINGS)
        return PanelWord.TOO_LITTLE if found is None else PanelWord.CAMPS


def any_note(found: Sequence[bool]) -> Iterator[bool]:
    """Whether it is said of any note."""
    yield any(found)


def each_note(found: Sequence[bool]) -> Iterator[bool]:
    """Whether it is said, note by note."""
    yield from found


def rows() -> Iterator[Row]:
    """All rows on camps over sessions."""
    good = Flight(8, 8, REAL * 3)
    at = f"{_SESSIONS} sessions of other casks, 8 x 8, {len(good.casks)} notes"
    panels = {
        "good": good,
        "fair": replace(good, cell_sd=16.0),
        "heavy": replace(good, tails=Tails.HEAVY),
        "together": replace(good, tails=Tails.TOGETHER),
    }
    for name, flight in panels.items():
        where = f"nobody turned, {flight.tails}, cell sd {flight.cell_sd:g}, any note, {at}"
        draw = HalfTurned(flight)
        yield Row(f"camps-span-{name}", CAMPS, where, 0.05, True, draw, any_note)
    where = f"one of 8 turned, good panel, any note, {at}"
    yield Row("camps-span-one", CAMPS, where, 0.05, True, HalfTurned(good, 1), any_note)
    for name, flight, turned, least in (
        ("half", good, 4, 0.8),
        ("three", good, 3, None),
        ("half-fair", panels["fair"], 4, None),
    ):
        where = f"{turned} of 8 turned, cell sd {flight.cell_sd:g}, {at}"
        draw = HalfTurned(flight, turned)
        yield Row(f"camps-span-{name}", CAMPS, where, least, False, draw, each_note)

"""How somebody reads a note over sessions, and what is known of samples, reckoned by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.indices.repeat import Repeat
from analysis.agreement.one_session.assessors import PanelSlope, usual_repeat_sd
from analysis.agreement.one_session.habits import Habits
from analysis.agreement.one_session.standing import Standing
from analysis.agreement.one_session.with_panel import WithPanel
from analysis.agreement.sessions.model_draws import _known
from analysis.agreement.sessions.over_sessions import NoteOverSessions
from analysis.agreement.sessions.span_reads import _slope, _surely, by_slopes
from analysis.agreement.verdict.words import AssessorWord

SETTINGS = AgreementSettings()
WITH = Standing(WithPanel(passed=True), Habits())
OPEN = Standing()
AGAINST = Standing(WithPanel(against=True))
WORD = AssessorWord


@pytest.mark.parametrize(
    ("word", "chance", "stands", "n_notes", "said"),
    [
        (WORD.REVERSED, 0.81, OPEN, 1, WORD.REVERSED),
        (WORD.REVERSED, 0.8, OPEN, 1, None),
        (WORD.REVERSED, 0.94, OPEN, 4, None),
        (WORD.REVERSED, 0.96, OPEN, 4, WORD.REVERSED),
        (WORD.REVERSED, 0.1, AGAINST, 4, WORD.REVERSED),
        (WORD.WIDER, 0.1, OPEN, 4, WORD.WIDER),
        (None, 0.99, OPEN, 4, None),
    ],
)
def test_of_many_notes_one_looks_reversed_by_chance(
    word: AssessorWord | None,
    chance: float,
    stands: Standing,
    n_notes: int,
    said: AssessorWord | None,
) -> None:
    assert _surely(word, chance, stands, n_notes, SETTINGS) is said


def slope(true: float, se: float) -> PanelSlope:
    return PanelSlope(0.9, true, se, true, se)


def test_slopes_of_sessions_are_weighed_by_how_well_they_are_known() -> None:
    assert _slope([]) is None
    assert _slope([slope(1.0, 0.1), slope(2.0, 0.2)]) == pytest.approx((1 * 100 + 2 * 25) / 125)
    assert _slope([slope(1.0, 0.1), slope(2.0, 0.0), slope(4.0, 0.0)]) == pytest.approx(3.0)


def note(*slopes: PanelSlope, in_camps: bool = False, mostly_zero: bool = False) -> Any:
    found: Any = SimpleNamespace(in_camps=in_camps, slopes={"Ada": slopes})
    found.repeat = SimpleNamespace(assessors={"Ada": Repeat(), "Ben": Repeat(40.0, 8)})
    found.over = SimpleNamespace(mostly_zero=mostly_zero)
    return found


@pytest.mark.parametrize(
    ("given", "stands", "word"),
    [
        (note(slope(-1.0, 0.1), slope(-1.1, 0.1)), OPEN, WORD.REVERSED),
        (note(slope(-1.0, 0.1), in_camps=True), OPEN, None),
        (note(slope(1.0, 0.05)), WITH, WORD.WITH),
        (note(slope(1.0, 0.05)), OPEN, None),
        (note(), OPEN, None),
        (note(slope(-1.0, float("inf"))), OPEN, None),
    ],
)
def test_a_note_by_the_slopes_of_its_sessions(
    given: Any, stands: Standing, word: AssessorWord | None
) -> None:
    found = by_slopes("Ada", given, stands, 4, SETTINGS)
    assert found.word is word
    assert (found.reason is None) is (word is not None)


def test_a_line_is_not_wide_on_a_note_that_is_mostly_zeros() -> None:
    wide = Standing(WithPanel(passed=True), Habits(width=WORD.WIDER))
    assert by_slopes("Ada", note(slope(1.6, 0.05)), wide, 4, SETTINGS).word is WORD.WIDER
    zeros = by_slopes("Ada", note(slope(1.6, 0.05), mostly_zero=True), wide, 4, SETTINGS)
    assert zeros.word is WORD.WITH


def test_what_is_usual_of_repeats() -> None:
    few = [Repeat(8.0, 1), Repeat(40.0, 8), Repeat(300.0, 10), Repeat()]
    pooled = 348.0 / 19.0
    drawn = sorted((part.squares + 4 * pooled) / (part.df + 4) for part in few[:3])
    assert usual_repeat_sd(few) == pytest.approx(np.sqrt(drawn[1]))
    assert usual_repeat_sd([Repeat()]) is None


def profile_of(variances: dict[str, float], *, shared: float | None) -> Any:
    rows = pd.DataFrame({"se": [2.0, 4.0, 9.9, 3.0], "filling": ["a", "a", None, "b"]})
    rows = rows.assign(descriptor="smoke", sample=list("wxyz"))
    posterior = None if shared is None else SimpleNamespace(shared=lambda _: np.array([shared]))
    fit = SimpleNamespace(variances=variances, between=80.0)
    return cast(Any, SimpleNamespace(estimates=rows, posterior=posterior, fit=lambda _name: fit))


def test_how_much_of_a_sample_is_known_and_by_how_many_degrees() -> None:
    errors = np.array([4.0, 16.0, 98.01, 9.0])
    known, df = _known(profile_of({}, shared=None), "smoke", 80.0)
    assert known == pytest.approx(np.clip(1.0 - errors / 80.0, 0.02, 0.9999).mean())
    assert df == 3.0, "no fillings to be told apart: one less than the samples"
    own, _ = _known(profile_of({}, shared=4.0), "smoke", 80.0)
    assert own == pytest.approx(np.clip(1.0 - (errors - 4.0) / 80.0, 0.02, 0.9999).mean())
    _, nested = _known(profile_of({"filling": 50.0}, shared=None), "smoke", 80.0)
    assert nested == pytest.approx(80.0**2 / (50.0**2 / 2 + 30.0**2 / 3))


def test_a_note_of_one_session_may_have_a_wide_line() -> None:
    """What is said of its zeros is said where they were counted, and nowhere else."""
    wide = Standing(WithPanel(passed=True), Habits(width=WORD.WIDER))
    given = note(slope(1.6, 0.05))
    given.over = NoteOverSessions("smoke", 1, 0, reason="scored in one session only")
    assert not given.over.leads
    assert by_slopes("Ada", given, wide, 4, SETTINGS).word is WORD.WIDER

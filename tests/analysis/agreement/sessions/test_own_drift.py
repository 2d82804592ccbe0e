"""What a person takes home of their own chart, as the last of their sessions is told."""

from __future__ import annotations

import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, EveningNote, assess_agreement, evening_note
from tests.analysis.agreement.sessions.test_drift import NOTES, PEOPLE, Span, charts, of

QUICK = AgreementSettings(permutations=99, bootstraps=99)


def taken_home(scores: pd.DataFrame, assessor: str) -> EveningNote:
    """The note of the last session."""
    last = scores["session"].max()
    tonight, recent = (
        scores[rows] for rows in (scores["session"] == last, scores["session"] < last)
    )
    agreement = assess_agreement(tonight, settings=QUICK)
    return evening_note(agreement, tonight, recent, assessor, settings=QUICK)


@pytest.mark.slow
def test_who_moved_is_told_how_far_and_since_when() -> None:
    span = Span(step=12.0)
    note = taken_home(span.scores(), "A")
    chart = of(charts(span), "A", None)
    assert note.drift == chart
    assert note.drift.moved is not None
    (said,) = note.moving
    assert said in note.sentences
    assert f"about {abs(note.drift.moved.points):.0f} points higher than you used to" in said
    assert f"since {note.drift.since}" in said


@pytest.mark.slow
def test_who_stood_beside_is_told_of_themselves_alone() -> None:
    note = taken_home(Span(step=12.0).scores(), "B")
    assert note.moving == (
        "Your place on the line beside the others has not surely moved over 24 sessions.",
    )
    assert not any(f" {name} " in said for said in note.moving for name in (*PEOPLE, *NOTES))


def test_few_sessions_do_not_tell_and_a_first_one_says_nothing() -> None:
    (said,) = taken_home(Span(n=6).scores(), "A").moving
    assert said == "Whether your place on the line has moved cannot be told yet, after 6 sessions."
    first = taken_home(Span(n=1).scores(), "A")
    assert (first.moving, first.drift) == ((), None)

"""Who is moving against the hidden reference, and since when."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import Drift, reference_drift
from analysis.agreement.sessions.session_line import fit_line
from analysis.frames import check_scores

PEOPLE = ("A", "B", "C", "D", "E")
NOTES = ("smoke", "plum", "wax")


def references(
    *,
    n: int = 20,
    moves: float = 0.0,
    step_at: int | None = None,
    overlap: int = 3,
    notes: tuple[str, ...] = NOTES,
    moved_notes: tuple[str, ...] = ("smoke",),
    seed: int = 1,
) -> pd.DataFrame:
    """A reference over n sessions; A moves by so many points a session on some notes.

    With `step_at` a new batch comes then, 15 points stronger, poured beside the old one in
    `overlap` sessions; A uses half the line, so that the step reaches A by half.
    """
    rng = np.random.default_rng(seed)
    rows = []
    for t in range(n):
        batches = ["one"]
        if step_at is not None:
            batches = ["one"] if t < step_at else ["two"]
            batches = ["one", "two"] if step_at <= t < step_at + overlap else batches
        for who, note, batch in [(w, d, b) for w in PEOPLE for d in notes for b in batches]:
            y = 40.0 + (15.0 * (0.5 if who == "A" else 1.0) if batch == "two" else 0.0)
            y += moves * t if who == "A" and note in moved_notes else 0.0
            y += rng.normal(0.0, 4.0)
            held_on = pd.Timestamp("2025-01-07") + pd.Timedelta(weeks=4 * t)
            rows.append((f"S{t:02d}", held_on, who, f"ref {batch}", batch, 1, note, y))
    names = ["session", "held_on", "assessor", "sample", "batch", "replicate", "descriptor"]
    frame = pd.DataFrame(rows, columns=[*names, "score"]).assign(kind="reference")
    return check_scores(frame)


def of(found: tuple[Drift, ...], assessor: str | None, descriptor: str | None) -> Drift:
    return next(p for p in found if (p.assessor, p.descriptor) == (assessor, descriptor))


def test_somebody_who_moves_is_named_with_a_date() -> None:
    found = reference_drift(references(moves=1.2), NOTES)
    chart = of(found, "A", "smoke")
    assert chart.direction == "upward"
    assert chart.slope_per_session == pytest.approx(1.2 * 1.0, abs=0.5)
    assert chart.verdict is not None
    since = chart.verdict.since or ""
    assert "2025-01-07" <= since <= "2025-12-31"  # it began with the first session
    assert f"moving upward on smoke since {since}" in chart.verdict.sentence
    assert chart.verdict.label == f"moving upward since {since}"
    moving = [p.assessor for p in found if p.direction and p.assessor not in {"A", None}]
    assert not moving
    assert of(found, None, "smoke").direction is None


def test_a_little_on_every_note_is_seen_over_all_notes() -> None:
    """Half a point a session on each of three notes, over twelve made-up spans."""
    together, apart = 0, 0
    for seed in range(12):
        found = reference_drift(references(moves=0.5, moved_notes=NOTES, seed=seed), NOTES)
        chart = of(found, "A", None)
        together += chart.direction == "upward"
        assert chart.direction != "downward"
        apart += of(found, "A", "smoke").direction == "upward"
        if chart.verdict:
            assert "on all notes together since" in chart.verdict.sentence
    assert together >= 10
    assert together > apart


def test_a_new_batch_is_nobody_s_drift() -> None:
    """A step between batches reaches a narrow line by half; it is no movement of A's."""
    for overlap in (0, 3):
        found = reference_drift(references(step_at=10, overlap=overlap), NOTES)
        assert [p for p in found if p.direction] == []
    bare = reference_drift(references(step_at=10, overlap=0), NOTES)
    assert "changed batch" in (of(bare, None, "smoke").note or "")
    assert of(reference_drift(references(step_at=10), NOTES), None, "smoke").note is None


def test_drift_shows_through_a_new_batch() -> None:
    found = reference_drift(references(moves=1.6, step_at=10), NOTES)
    assert of(found, "A", "smoke").direction == "upward"


def test_the_panel_as_a_whole() -> None:
    frame = references()
    week = frame["session"].str[1:].astype(float)
    risen = frame.assign(score=frame["score"] + 1.2 * week)
    found = reference_drift(risen, NOTES)
    assert of(found, None, "smoke").direction == "upward"
    moving = of(found, None, None).verdict
    assert moving is not None
    assert "The panel as a whole" in moving.sentence
    assert not [p for p in found if p.assessor and p.direction]


def test_weighted_average_and_limits() -> None:
    """Roberts (1959): z = .2 x + .8 z before; limits 3 s sqrt(.2 / 1.8) = 1.0 s."""
    chart = of(reference_drift(references(), NOTES), "B", "plum")
    level = 0.0
    for point in chart.points:
        level = 0.2 * point.off + 0.8 * level
        assert point.average == pytest.approx(level)
    ranges = np.abs(np.diff([point.off for point in chart.points]))
    assert chart.sd == pytest.approx(ranges.mean() / 1.128)
    assert chart.limit == pytest.approx(chart.sd)


def test_too_few_references_are_a_reason() -> None:
    found = reference_drift(references(n=4), NOTES)
    assert all(p.p is None and "6 are needed" in (p.reason or "") for p in found)
    assert reference_drift(references().assign(kind="test"), NOTES) == ()


@pytest.mark.slow
def test_false_alarms_over_many_charts() -> None:
    """60 spans in which nobody moves, 24 charts each: fewer than one chart in a hundred."""
    alarms = [
        part.direction is not None
        for seed in range(60)
        for part in reference_drift(references(seed=seed), NOTES)
    ]
    assert np.mean(alarms) < 0.01


def test_a_line_needs_sessions_within_a_group() -> None:
    assert fit_line(np.arange(4.0), np.arange(4), np.arange(4)) is None

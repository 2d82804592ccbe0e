"""Parts of what is said over sessions, each on a table small enough to be looked through."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.one_session.standing import Standing
from analysis.agreement.sessions.off_others import (
    NoteTable,
    _glasses,
    _residuals,
    _widths,
    _within,
)
from analysis.agreement.sessions.one_model import _counted, _usually_seated, own_codes
from analysis.agreement.sessions.orders_in_house import one_order_among
from analysis.agreement.sessions.references import Pours, _batch_note, _middle, _one_each
from analysis.agreement.sessions.span_people import (
    _assessor,
    count_blanks,
    find_drift,
    who_moves,
)
from analysis.profile.one_order import OneOrder

SETTINGS = AgreementSettings()


def rows_of(*rows: tuple[str, str, str, str, float], held_on: str | None = None) -> pd.DataFrame:
    names = ["session", "assessor", "sample", "descriptor", "score"]
    made = pd.DataFrame(rows, columns=names).assign(kind="test", replicate=1)
    made = made.assign(scale_low=0.0, scale_high=100.0, held_on=held_on)
    return made.assign(held_on=pd.to_datetime(made["held_on"]))


def pours(*, note: str | None = None, **tables: list[list[float]]) -> Pours:
    """Two people, four pours: batch 0 in sessions 0 and 1, batch 1 in sessions 1 and 2."""
    return Pours(
        assessors=("A", "B"),
        sessions=("S1", "S2", "S3"),
        dates={},
        session=np.array([0, 1, 1, 2]),
        batch=np.array([0, 0, 1, 1]),
        adjusted={name: np.array(table) for name, table in tables.items()},
        note=note,
    )


SMOKE = [[10.0, 14.0, 30.0, 34.0], [12.0, 16.0, 32.0, np.nan]]


def test_the_panel_on_its_reference_is_told_off_the_level_of_each_batch() -> None:
    for apart, note in (("smoke", None), (None, "the reference changed batch")):
        line = pours(smoke=SMOKE, note=note).panel(apart)
        assert line.session.tolist() == [0, 1, 2]
        # Middles 11, 15, 31, 34 about 13 and 32.5; of the session with both, the older batch.
        assert line.off.tolist() == [-2.0, 2.0, 1.5]
        assert line.level.tolist() == [0, 0, 1]
    together = pours(smoke=SMOKE).panel(None)
    assert together.level.tolist() == [0, 0, 0], "batches that hang together share a level"
    assert np.diff(together.off) == pytest.approx([4.0, 3.0]), "each step by one batch alone"
    nothing = pours(smoke=[[np.nan] * 4] * 2)
    for asked in ("smoke", None):
        line = nothing.panel(asked)
        assert (len(line.session), len(line.off), len(line.level)) == (0, 0, 0)


def test_a_series_has_a_level_for_each_batch_and_note() -> None:
    found = pours(smoke=SMOKE, wax=[[np.nan, 5.0, 6.0, 7.0]] * 2).series(None)
    assert found.value.tolist() == [11.0, 15.0, 31.0, 34.0, 5.0, 6.0, 7.0]
    assert found.session.tolist() == [0, 1, 1, 2, 1, 1, 2]
    assert found.group.tolist() == [0, 0, 1, 1, 2, 3, 3]
    assert found.batch.tolist() == [0, 0, 1, 1, 0, 1, 1]


@pytest.mark.parametrize(
    ("moving", "middle"),
    [
        ([("A", "smoke")], [12.0, 16.0, 32.0, np.nan]),
        ([("A", None)], [12.0, 16.0, 32.0, np.nan]),
        ([("A", "wax"), ("B", "wax")], [12.0, 16.0, 32.0, 34.0]),
        # One alone is no panel: the note stays as it is.
        ([("A", None), ("B", "smoke")], [12.0, 16.0, 32.0, 34.0]),
    ],
)
def test_who_moves_is_left_out_where_others_stay(moving: Any, middle: list[float]) -> None:
    found = replace(pours(smoke=[*SMOKE, SMOKE[1]]), assessors=("A", "B", "C")).without(moving)
    assert _middle(found.adjusted["smoke"]) == pytest.approx(middle, nan_ok=True)
    alone = pours(smoke=SMOKE).without([("A", "smoke")])
    assert _middle(alone.adjusted["smoke"]).tolist() == [11.0, 15.0, 31.0, 34.0]


def test_of_two_batches_in_a_session_the_one_poured_more_often_is_told() -> None:
    session, batch = np.array([0, 0, 1, 1, 2]), np.array([0, 1, 0, 1, 1])
    off = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    often = _one_each(session, off, batch)
    assert (often.off.tolist(), often.level.tolist()) == ([2.0, 4.0, 5.0], [0, 0, 0])
    even = _one_each(session[:4], off[:4], batch[:4])
    assert even.off.tolist() == [1.0, 3.0], "of two as often the older"


@pytest.mark.parametrize(
    ("together", "told"), [(3, False), (2, True)], ids=["three sessions", "two sessions"]
)
def test_batches_hang_together_by_three_sessions(together: int, told: bool) -> None:
    old, new = np.arange(5), np.arange(5 - together, 10 - together)
    session = np.concatenate([old, new])
    batch = np.repeat([0, 1], 5)
    assert (_batch_note(session, batch) is not None) is told
    third = np.arange(20, 25)
    apart = _batch_note(np.concatenate([session, third]), np.concatenate([batch, [2] * 5]))
    assert apart is not None, "one batch hangs on nothing"


def glass_table(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    glass = np.linspace(10.0, 80.0, 12)
    place = np.array([0.0, 4.0, -6.0, 2.0, 0.0])
    score = glass + place[:, None] + rng.normal(0.0, 1.5, (5, 12))
    return score, np.eye(3)[np.repeat([0, 1, 2], 4)]


def test_one_exchanged_glass_of_another_moves_nobody_else() -> None:
    """The glass weighs 5 / (4 + t^2) of what it would: for t of 20 a hundredth."""
    score, at = glass_table(np.random.default_rng(5))
    everybody = np.ones(5, dtype=bool)
    before = _residuals(NoteTable(score, at), everybody)
    wrong = score.copy()
    wrong[1, 5] += 60.0
    after = _residuals(NoteTable(wrong, at), everybody)
    others = np.arange(5) != 1
    assert np.abs(after.left - before.left)[others, 5].max() < 2.5, "plain means move it by 20"
    assert after.left[1, 5] > 45.0
    assert np.abs(before.left).max() < 6.0
    assert before.left.mean(axis=1) == pytest.approx(np.zeros(5), abs=1e-9)


def test_what_the_others_make_of_a_glass_by_plain_loops() -> None:
    score = np.array([[10.0, 20.0], [14.0, np.nan], [30.0, 50.0]])
    beside = np.array([[True, True], [True, False], [True, False]])
    place, width = np.array([0.0, 2.0, 10.0]), np.array([1.0, 1.0, 2.0])
    weight = np.array([[1.0, 1.0], [0.5, 1.0], [0.25, 1.0]])
    found, unsure = _glasses(np.nan_to_num(score), beside, place, width, weight)
    for who in range(3):
        for glass in range(2):
            others = [k for k in range(3) if k != who and beside[k, glass]]
            worth = [weight[k, glass] * width[k] ** 2 for k in others]
            said = [(score[k, glass] - place[k]) / width[k] for k in others]
            wanted = float(np.average(said, weights=worth)) if others else 0.0
            assert found[who, glass] == pytest.approx(wanted)
            assert unsure[who, glass] == pytest.approx(1.0 / sum(worth) if others else 1.0)


def test_distances_go_from_the_mean_of_each_session() -> None:
    at = np.eye(2)[[0, 0, 1, 1]]
    value = np.array([[10.0, 20.0, 5.0, 99.0], [1.0, 3.0, 7.0, 9.0]])
    used = np.array([[True, True, True, False], [True, True, True, True]])
    assert _within(value, used, at).tolist() == [[-5.0, 5.0, 0.0, 0.0], [-1.0, 1.0, -1.0, 1.0]]


def test_a_width_is_drawn_to_one_and_goes_by_differences_within_sessions() -> None:
    at = np.eye(2)[[0, 0, 0, 1, 1, 1]]
    glass = np.tile([0.0, 30.0, 60.0, 0.0, 30.0, 60.0], (2, 1))
    # The second moves by 25 between the sessions: no part of how wide a line is.
    score = np.array([1.5, 1.0])[:, None] * glass + np.array([[0.0] * 6, [0.0] * 3 + [25.0] * 3])
    used, noise = np.ones((2, 6), dtype=bool), np.array([9.0, 9.0])
    width, sd = _widths(score, glass, np.zeros((2, 6)), used, at, noise)
    squares = 4.0 * 30.0**2 + 9.0 / 0.3**2
    assert width == pytest.approx([(1.5 * 3600.0 + 100.0) / squares, 1.0])
    assert sd == pytest.approx(np.sqrt(9.0 / squares))
    wild, _ = _widths(9.0 * glass, glass, np.zeros((2, 6)), used, at, noise)
    assert wild.tolist() == [5.0, 5.0]
    unsure, _ = _widths(score, glass, np.full((2, 6), 300.0), used, at, noise)
    # The glasses spread by 600, of which 300 are doubt: half of each distance is sure.
    assert unsure[0] == pytest.approx((1.5 * 1800.0 + 100.0) / (900.0 + 100.0))


def test_samples_that_stood_in_one_place_in_every_session() -> None:
    """x and z stood in one order only; y in another session in several places."""
    order = {"A": ["x", "y", "z"], "B": ["x", "y", "z"]}
    mixed = {"A": ["y", "w"], "B": ["w", "y"]}
    rows = [
        ("S1" if trays is order else "S2", who, sample, place, 10.0 * place)
        for trays in (order, mixed)
        for who, tray in trays.items()
        for place, sample in enumerate(tray, 1)
    ]
    frame = pd.DataFrame(rows, columns=["session", "assessor", "sample", "position", "score"])
    frame = frame.assign(descriptor="smoke", kind="test", replicate=1)
    assert one_order_among(frame) == OneOrder(2, ("S1",))
    assert one_order_among(frame[frame["session"] == "S2"]) is None
    assert one_order_among(frame[frame["session"] == "S1"]) == OneOrder(3, ("S1",))
    assert one_order_among(frame[(frame["session"] == "S2") | (frame["sample"] == "y")]) is None


def test_codes_of_a_session_are_samples_of_its_own() -> None:
    rows = rows_of(("S1", "A", "1", "smoke", 4.0), ("S2", "A", "1", "smoke", 5.0))
    assert own_codes(rows, ["S2"])["sample"].tolist() == ["1", "S2 1"]
    assert own_codes(rows, []) is rows
    assert own_codes(rows, ["S3"]) is rows


@pytest.mark.parametrize(
    ("scores", "sessions", "reason"),
    [
        ([0.0, 1.0, 2.0, 3.0], ["S1", "S1", "S2", "S2"], None),
        ([0.0, 1.0, 2.0, 3.0], ["S1"] * 4, "scored in one session only"),
        ([0.0, 0.0, 0.0, 3.0], ["S1", "S1", "S2", "S2"], "zero"),
        ([0.0, 0.0, 0.0, 3.0], ["S1"] * 4, "scored in one session only"),
    ],
)
def test_why_a_note_has_no_fit_over_sessions(
    scores: list[float], sessions: list[str], reason: str | None
) -> None:
    each = zip(sessions, "ABAB", "xyxz", scores, strict=True)
    rows = rows_of(*((session, who, x, "smoke", score) for session, who, x, score in each))
    found = _counted("smoke", rows, SETTINGS)
    assert (found.n_sessions, found.n_samples) == (len(set(sessions)), 3)
    assert found.mostly_zero is (scores.count(0.0) == 3)
    assert (found.reason is None) is (reason is None)
    assert reason is None or reason in (found.reason or "")


def test_how_many_usually_sit_together() -> None:
    rows = [
        (f"S{at}", who, "x", "smoke", 1.0) for at, n in enumerate((2, 5, 6)) for who in "ABCDEF"[:n]
    ]
    assert _usually_seated(rows_of(*rows)) == 5
    assert _usually_seated(rows_of(("S1", "A", "x", "smoke", 1.0))) == 1


def drift(who: str | None, note: str | None, verdict: object = "moves") -> Any:
    return SimpleNamespace(assessor=who, descriptor=note, verdict=verdict)


def test_who_moves_with_the_panel_first() -> None:
    drifts = [drift("A", "wax"), drift(None, None), drift("B", None, None), drift("B", "smoke")]
    drifts.append(drift(None, "wax"))
    assert who_moves(drifts) == [
        *("the panel on all notes together", "the panel on wax", "A on wax", "B on smoke")
    ]
    assert find_drift(drifts, None, "wax") is drifts[4]
    assert find_drift(drifts, "B", None) is drifts[2]
    assert find_drift(drifts, "A", None) is None


def test_blank_lines_count_on_glasses_that_are_judged() -> None:
    blanks = rows_of(*(("S1", who, "x", note, np.nan) for who, note in (("A", "wax"),) * 2))
    warm_up = blanks.assign(kind="warm-up", assessor="B")
    found = count_blanks(pd.concat([blanks, warm_up, blanks.assign(assessor="C")[:1]]))
    assert found == {("A", "wax"): 2, ("C", "wax"): 1}


def scored(note: str, n: int, share: float | None) -> Any:
    """A note on which the one model says nothing and A has so many scores."""
    person = None if share is None else SimpleNamespace(signal_share=share)
    return SimpleNamespace(
        descriptor=note,
        in_camps=note == "wax",
        n_scores={"A": n},
        repeat=SimpleNamespace(assessors={}),
        person=lambda *_: person,
    )


def test_scores_and_blanks_of_a_person_are_added_up(monkeypatch: pytest.MonkeyPatch) -> None:
    from analysis.agreement.sessions import span_people

    def told(name: str, note: Any, *_: Any) -> Any:
        return SimpleNamespace(n_sessions=2, slope=1.0, word=None, reason="r", signal_share=None)

    def model(person: Any, *_: Any) -> Any:
        return SimpleNamespace(
            n_sessions=2, slope=1.0, word=None, reason="r", signal_share=person.signal_share
        )

    monkeypatch.setattr(span_people, "by_slopes", told)
    monkeypatch.setattr(span_people, "by_model", model)
    monkeypatch.setattr(span_people, "_facts", lambda name, found, *_: found)
    monkeypatch.setattr(span_people, "span_assessor_verdict", lambda *given: given)
    notes = [scored("smoke", 30, 0.4), scored("wax", 50, 0.6), scored("peel", 15, None)]
    blanks = {("A", "smoke"): 2, ("A", "peel"): 3, ("B", "peel"): 9}
    moves = [drift("A", None, "upward"), drift("A", "wax", "down"), drift(None, None)]
    found = _assessor("A", 4, notes, Standing(), moves, blanks, SETTINGS)
    assert (found.n_scores, found.n_missing, found.n_sessions) == (95, 5, 4)
    assert found.missing_rate == 0.05
    assert found.signal_share == pytest.approx(0.5)
    assert found.drift is moves[0]
    assert [part.drift for part in found.notes] == [None, moves[1], None]
    who, facts, person, moving = cast(Any, found.verdict)
    assert (who, moving, len(facts)) == ("A", "upward", 3)
    assert (person.camps, person.missing_rate) == (("wax",), 0.05)
    bare = _assessor("A", 4, [scored("peel", 15, None)], Standing(), [], {}, SETTINGS)
    assert (bare.signal_share, bare.drift, bare.missing_rate) == (None, None, 0.0)

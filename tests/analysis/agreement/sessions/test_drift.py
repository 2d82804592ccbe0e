"""Who has moved beside the others on the same glasses, since when and how far."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import Drift, chart_drift
from analysis.agreement.sessions.off_others import glasses_of, off_others
from analysis.frames import check_scores

PEOPLE = ("A", "B", "C", "D", "E", "F")
NOTES = ("smoke", "plum", "wax")


@dataclass(frozen=True)
class Span:
    """Sessions of five new casks and the reference each; A moves by `step` from session `at` on.

    Attributes
    ----------
    everybody
        By how much all move then, on the reference as on the casks.
    batch_at
        When a new batch of the reference comes, 15 points stronger.
    chosen
        By how much casks are stronger from the middle on.
    """

    n: int = 24
    step: float = 0.0
    at: int = 12
    until: int = 99
    moved_notes: tuple[str, ...] = NOTES
    everybody: float = 0.0
    batch_at: int | None = None
    overlap: int = 0
    chosen: float = 0.0
    absent: float = 0.0
    people: tuple[str, ...] = PEOPLE
    seed: int = 1

    def scores(self) -> pd.DataFrame:
        """Draw them."""
        rng = np.random.default_rng(self.seed)
        width = dict(zip(self.people, rng.normal(1.0, 0.25, len(self.people)), strict=True))
        rows = []
        for t in range(self.n):
            there = [who for who in self.people if rng.random() >= self.absent]
            held_on = pd.Timestamp("2025-01-07") + pd.Timedelta(weeks=2 * t)
            for sample, kind, batch, level in self._poured(t, rng):
                for who in there:
                    for note in NOTES:
                        everybody = self.everybody if t >= self.at else 0.0
                        y = 30.0 + width[who] * (level + everybody) + rng.normal(0.0, 5.0)
                        y += self._moves(who, note, t)
                        row = (f"S{t:02d}", held_on, who, sample, kind, batch, 1, note, y)
                        rows.append(row)
        names = ["session", "held_on", "assessor", "sample", "kind", "batch", "replicate"]
        frame = pd.DataFrame(rows, columns=[*names, "descriptor", "score"])
        return check_scores(frame.assign(score=frame["score"].clip(0.0, 100.0)))

    def _poured(self, t: int, rng: np.random.Generator) -> list[tuple[str, str, str | None, float]]:
        more = self.chosen if t >= self.n // 2 else 0.0
        casks = [(f"x{t}{s}", "test", None, more + float(rng.normal(8, 8))) for s in range(5)]
        batches = ["one"]
        if self.batch_at is not None and t >= self.batch_at:
            batches = ["one", "two"] if t < self.batch_at + self.overlap else ["two"]
        return [
            *casks,
            *((f"ref {b}", "reference", b, 10.0 + 15.0 * (b == "two")) for b in batches),
        ]

    def _moves(self, who: str, note: str, t: int) -> float:
        moves = who == "A" and note in self.moved_notes and self.at <= t < self.until
        return self.step if moves else 0.0


def charts(span: Span) -> tuple[Drift, ...]:
    return chart_drift(span.scores(), NOTES)


def of(found: tuple[Drift, ...], assessor: str | None, descriptor: str | None) -> Drift:
    return next(p for p in found if (p.assessor, p.descriptor) == (assessor, descriptor))


def called(found: tuple[Drift, ...]) -> set[tuple[str | None, str | None]]:
    return {(part.assessor, part.descriptor) for part in found if part.verdict}


@pytest.mark.parametrize(("step", "way"), [(10.0, "upward"), (-10.0, "downward")])
def test_somebody_who_moved_is_named_with_a_date_and_a_size(step: float, way: str) -> None:
    found = charts(Span(step=step))
    chart = of(found, "A", None)
    assert chart.direction == way
    assert chart.start is not None
    assert chart.moved is not None
    assert chart.start.first <= "S12" <= chart.start.last
    assert abs(chart.moved.points - step) < 4.0
    assert chart.moved.low <= step <= chart.moved.high
    assert chart.verdict is not None
    assert chart.verdict.label == f"moving {way} since {chart.start.held_on}"
    assert f"A has been moving {way} on all notes together since" in chart.verdict.sentence
    assert {who for who, _ in called(found)} == {"A"}


def test_on_one_note_alone() -> None:
    found = charts(Span(step=16.0, moved_notes=("smoke",)))
    assert ("A", "smoke") in called(found)
    assert {who for who, _ in called(found)} == {"A"}
    assert of(found, "A", "plum").verdict is None
    assert of(found, "A", "smoke").limit == 3.0 * (of(found, "A", None).limit or 0.0)


@pytest.mark.parametrize("seed", range(4))
def test_who_stands_still_is_not_called(seed: int) -> None:
    """Half the people absent now and then, stronger casks from the middle on, lines unlike."""
    span = Span(chosen=12.0, absent=0.25, seed=seed)
    assert called(charts(span)) == set()


def test_nobody_is_called_for_what_another_did() -> None:
    """With two others only, a great movement drags them the other way by half."""
    people = ("A", "B", "C", "D")
    found = charts(Span(step=25.0, people=people))
    assert {who for who, _ in called(found)} == {"A"}


def test_back_where_one_was_is_no_movement_now() -> None:
    found = of(charts(Span(step=12.0, at=8, until=12, n=40)), "A", None)
    assert found.verdict is None
    assert found.evidence is not None


def test_the_panel_as_a_whole_by_its_reference() -> None:
    found = charts(Span(everybody=9.0))
    chart = of(found, None, None)
    assert chart.direction == "upward"
    assert chart.verdict is not None
    assert "The panel as a whole" in chart.verdict.sentence
    assert {who for who, _ in called(found)} == {None}
    assert of(charts(Span()), None, None).verdict is None


def test_one_who_moves_is_not_the_panel() -> None:
    found = charts(Span(step=25.0))
    assert of(found, None, None).verdict is None


@pytest.mark.parametrize("overlap", [0, 3])
def test_a_new_batch_is_no_movement(overlap: int) -> None:
    found = charts(Span(batch_at=12, overlap=overlap))
    assert called(found) == set()
    assert ("changed batch" in (of(found, None, "smoke").note or "")) is (overlap == 0)


def test_a_movement_shows_through_a_new_batch() -> None:
    found = charts(Span(everybody=9.0, at=12, batch_at=6, overlap=3))
    assert of(found, None, None).direction == "upward"


@pytest.mark.parametrize(("n", "charted"), [(9, False), (10, True)])
def test_ten_sessions_are_enough(n: int, charted: bool) -> None:
    found = charts(Span(n=n))
    assert all((part.reason is None) is charted for part in found)
    assert all(len(part.points) == n for part in found)
    if not charted:
        assert "cannot tell yet" in (of(found, "A", None).reason or "")


def test_beside_one_other_nobody_knows_who_moved() -> None:
    found = charts(Span(step=25.0, people=("A", "B")))
    assert not {who for who, _ in called(found)} & {"A", "B"}
    chart = of(found, "A", None)
    assert (chart.n_sessions, chart.points) == (0, ())
    assert "beside two others" in (chart.reason or "")


def test_no_glass_no_chart_and_no_reference_no_panel() -> None:
    scores = Span().scores()
    assert chart_drift(scores[scores["kind"] == "none"], NOTES) == ()
    found = chart_drift(scores[scores["kind"] == "test"], NOTES)
    assert {part.assessor for part in found} == set(PEOPLE)


def test_evidence_grows_session_by_session_to_the_last_one() -> None:
    chart = of(charts(Span(step=10.0)), "A", None)
    sums = [point.evidence or 0.0 for point in chart.points]
    assert sums[0] == 0.0
    assert sums[-1] == pytest.approx(chart.evidence)
    assert max(sums[:12]) < (chart.limit or 0.0) < sums[-1]
    assert chart.points[0].average < chart.points[-1].average == chart.average


def test_what_a_sum_does_not_have_says_why() -> None:
    told = of(charts(Span()), "A", None).to_dict()
    assert [told[key] for key in ("slope_per_session", "p", "p_adjusted")] == [None] * 3
    assert "no slope and no p" in told["not_reckoned"]
    assert (told["start"], told["moved"]) == (None, None)


def test_one_exchanged_glass_moves_no_session() -> None:
    scores = Span(n=12).scores()
    glass = (scores["assessor"] == "B") & (scores["sample"] == "x60")
    wrong = scores.assign(score=scores["score"].where(~glass, 100.0))
    before, after = (
        off_others(glasses_of(frame, NOTES))[None].off[1, 6] for frame in (scores, wrong)
    )
    assert abs(after - before) < 4.0  # a sixth of some 60 points would be ten

"""One person beside the others, reckoned once more by plain loops and by counting every order."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations
from math import factorial, sqrt
from typing import Any

import numpy as np
import pytest
import scipy.stats

from analysis.agreement import AgreementSettings
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.habits import Habits, Repeats, _scale, _unsteady
from analysis.agreement.one_session.standing import Standing
from analysis.agreement.one_session.with_panel import Told, WithPanel, reads_with, told_beside
from analysis.agreement.verdict.words import AssessorWord

SETTINGS = AgreementSettings()
GLASSES = tuple("abcde")
OTHERS = np.array([10.0, 20.0, 35.0, 40.0, 60.0])


def told(own: list[float], others: Any = OTHERS, *, noise: float = 9.0, n: int = 6) -> Told:
    values = np.array(own)
    return Told(GLASSES[: len(values)], values, np.array(others), noise, n, 40.0)


def by_orders(own: list[float], others: np.ndarray) -> tuple[float, float, float]:
    """Correlation, and the share of all orders of the glasses that give as much, or as little."""
    seen = np.corrcoef(own, others)[0, 1]
    drawn = [np.corrcoef(order, others)[0, 1] for order in permutations(own)]
    share = [np.mean([d >= seen - 1e-9 for d in drawn]), np.mean([d <= seen + 1e-9 for d in drawn])]
    return float(seen), float(share[0]), float(share[1])


@pytest.mark.parametrize(
    "own",
    [
        [12.0, 18.0, 40.0, 36.0, 70.0],
        [20.0, 12.0, 40.0, 36.0, 45.0],
        [60.0, 50.0, 30.0, 20.0, 1.0],
        [30.0, 31.0, 29.0, 33.0, 28.0],
        [40.0, 10.0, 50.0, 20.0, 30.0],
    ],
)
def test_every_order_of_five_glasses_is_counted(own: list[float]) -> None:
    correlation, p, p_against = by_orders(own, OTHERS)
    found = reads_with([[told(own)]], SETTINGS)
    assert found.correlation == pytest.approx(correlation)
    assert found.p == pytest.approx(p)
    assert found.passed is (correlation >= 0.35 and p <= 0.042)
    assert found.against is (correlation <= -0.35 and p_against <= 0.042)
    assert (found.n_notes, found.n_sessions) == (1, 1)
    assert (found.more is None) is (found.passed or found.against or found.short)


@pytest.mark.parametrize(("glasses", "passed"), [(4, True), (3, False)])
def test_the_right_order_of_four_glasses_is_enough(glasses: int, passed: bool) -> None:
    """Once in 24 by chance; of three glasses the right order comes once in six."""
    others = OTHERS[:glasses]
    found = reads_with([[told([*others + [0.0, 1.0, 0.0, 0.0][:glasses]], others)]], SETTINGS)
    assert found.p == pytest.approx(1.0 / factorial(glasses))
    assert found.passed is passed
    assert found.more == (None if passed else 1)


def test_notes_of_one_glass_change_places_together() -> None:
    """Two notes that say the same prove no more than one."""
    own = [12.0, 18.0, 40.0, 36.0, 70.0]
    one, two = (reads_with([[told(own)] * n], SETTINGS) for n in (1, 2))
    assert (two.p, two.correlation) == pytest.approx((one.p, one.correlation))
    assert two.n_notes == 2
    assert reads_with([[]], SETTINGS) == WithPanel()


def test_a_glass_left_blank_takes_no_part() -> None:
    own = [12.0, 18.0, np.nan, 36.0, 70.0]
    correlation, p, _ = by_orders([12.0, 18.0, 36.0, 70.0], np.delete(OTHERS, 2))
    found = reads_with([[told(own)]], SETTINGS)
    assert (found.correlation, found.p) == pytest.approx((correlation, p))


def scale_by_hand(notes: list[Told]) -> tuple[float, float]:
    """Scale and t by the formula, note by note and glass by glass."""
    product = square = others = 0.0
    df = 0
    rest: list[tuple[str, float, float]] = []
    for note in notes:
        y, c = (values - values.mean() for values in (note.own, note.others))
        s2, j, n = note.noise, len(c) - 1, note.n_others
        v = sum(x * x for x in c) / s2 - j / n
        product += sum(a * b for a, b in zip(y, c, strict=True)) / s2
        square += v
        others += v / n + 2.0 * j / n**2
        df += j
        rest += [
            (g, a / sqrt(s2), b / sqrt(s2)) for g, a, b in zip(note.samples, y, c, strict=True)
        ]
    cc = sum(b * b for _, _, b in rest)
    slope = sum(a * b for _, a, b in rest) / cc
    left = [(g, a - slope * b, b) for g, a, b in rest]
    plain = sum(e * e for _, e, _ in left) / (df - 1) * cc
    glasses = {g: sum(e * b for h, e, b in left if h == g) for g, _, _ in left}
    by_glass = sum(x * x for x in glasses.values()) * len(glasses) / (len(glasses) - 1)
    t = (product - square) / sqrt(max(plain, by_glass) + others)
    return product / square, 2.0 * float(scipy.stats.t.sf(abs(t), df - 1))


@pytest.mark.parametrize("stretch", [0.6, 1.0, 1.8])
def test_a_wide_or_narrow_line_by_plain_loops(stretch: float) -> None:
    rng = np.random.default_rng(7)
    notes = [
        told(list(others * stretch + rng.normal(0, 3, 5)), others, noise=8.0 + k, n=5 + k)
        for k, others in enumerate((OTHERS, OTHERS[::-1], np.array([5.0, 50.0, 20.0, 30.0, 8.0])))
    ]
    found = _scale([[note] for note in notes])
    assert found is not None
    scale, p = scale_by_hand(notes)
    assert (found.scale, found.p) == pytest.approx((scale, p))
    without = [scale_by_hand([n for n in notes if n is not one])[0] for one in notes]
    assert (found.low, found.high) == pytest.approx((min(scale, *without), max(scale, *without)))
    together = _scale([[notes[0], notes[1]], [notes[2]]])
    assert together is not None, "a note in two sessions is left out as one"
    alone = [scale_by_hand(notes[2:])[0], scale_by_hand(notes[:2])[0]]
    assert together.low == pytest.approx(min(scale, *alone))


def test_too_little_is_known_of_a_line() -> None:
    two = told([10.0, 30.0], OTHERS[:2])
    three = told([10.0, 22.0, 30.0], OTHERS[:3])
    assert _scale([[two]] * 3) is None, "two glasses are no line"
    assert _scale([[three]]) is None, "two degrees of freedom"
    assert _scale([[three], [three]]) is not None
    assert _scale([[told([1.0, 2.0, 3.0, 4.0, 5.0], np.full(5, 9.0))]]) is None


@pytest.mark.parametrize(
    ("low", "high", "p", "word"),
    [
        (1.21, 1.5, 0.045, AssessorWord.WIDER),
        (1.2, 1.5, 0.045, None),
        (1.21, 1.5, 0.046, None),
        (0.5, 0.833, 0.045, AssessorWord.NARROWER),
        (0.5, 0.834, 0.045, None),
    ],
)
def test_a_line_is_wide_by_more_than_one_note(
    low: float, high: float, p: float, word: AssessorWord | None
) -> None:
    notes = [told(list(OTHERS * 1.5)), told(list(OTHERS * 1.5))]
    found = _scale([[note] for note in notes])
    assert found is not None
    assert replace(found, low=low, high=high, p=p).width(SETTINGS) is word


def test_how_far_two_nosings_lie_apart() -> None:
    """Three people, two glasses: the chance counts every pick of a value for each glass."""
    apart = {
        "a": {"Ada": [2.0, 4.0], "Ben": [1.0], "Cid": [0.5]},
        "b": {"Ada": [3.0], "Ben": [1.0]},
    }
    ratio, p = _unsteady("Ada", [Repeats(apart)], 1.0, 20_000)
    assert ratio == pytest.approx((3.0 + 3.0) / (0.75 + 1.0))
    assert p == pytest.approx(1.0 / 6.0, abs=0.01)
    wide, _ = _unsteady("Ada", [Repeats(apart)], 2.0, 10)
    assert wide == pytest.approx((3.0 + 3.0) / 2.0 / 1.75)
    assert _unsteady("Cid", [Repeats({"b": apart["b"]})], 1.0, 10) == (None, None)
    alone = Repeats({"b": {"Ada": [3.0]}})
    assert _unsteady("Ada", [alone], 1.0, 10) == (None, None)


def layout_of(*visits: Any) -> ScoreLayout:
    """Tables of assessors by glasses, one a visit; a glass left blank is NaN."""
    stacked = np.stack([np.array(one, dtype=np.float64) for one in visits], axis=2)
    row, column, _ = np.nonzero(~np.isnan(stacked))
    names = tuple(f"P{k}" for k in range(len(stacked)))
    scores = stacked[~np.isnan(stacked)]
    return ScoreLayout(names, GLASSES[: stacked.shape[1]], row, column, scores)


def test_repeats_are_told_over_what_is_usual_for_the_note() -> None:
    first, second = [[10.0, 20.0], [30.0, 20.0]], [[12.0, np.nan], [36.0, np.nan]]
    found = Repeats.of([layout_of(first, second)]).apart
    usual = (2.0 / sqrt(2.0) + 6.0 / sqrt(2.0)) / 2.0
    assert found.keys() == {"a"}
    assert found["a"]["P0"] == pytest.approx([2.0 / sqrt(2.0) / usual])
    assert found["a"]["P1"] == pytest.approx([6.0 / sqrt(2.0) / usual])
    assert Repeats.of([layout_of(first)]).apart == {}


PANEL = OTHERS + np.array(
    [[0, 3, -2, 1, -2], [2, -1, 0, -3, 2], [-1, 0, 3, 1, -3], [1, -2, -1, 1, 1]]
)


def test_who_is_laid_beside_the_others() -> None:
    six = np.vstack([OTHERS * 1.2, PANEL, OTHERS])
    found = told_beside(layout_of(six), 0, 10.0, SETTINGS)
    assert isinstance(found, Told)
    assert found.n_others == 5
    assert found.reliability == pytest.approx(1.0 - 1.0 / found.f)
    assert 0.9 < found.reliability < 1.0
    middle = six[1:].mean(axis=0)
    assert found.others == pytest.approx(middle - middle.mean())
    rest = six[1:] - six[1:].mean(axis=0) - six[1:].mean(axis=1, keepdims=True) + six[1:].mean()
    assert found.noise == pytest.approx((rest**2).sum() / (4 * 4))
    assert told_beside(layout_of(six[:4]), 0, 10.0, SETTINGS) == "fewer than 5 assessors"
    assert isinstance(told_beside(layout_of(six[:5]), 0, 10.0, SETTINGS), Told)
    span = float(np.ptp(found.others))
    assert isinstance(told_beside(layout_of(six), 0, span, SETTINGS), Told)
    assert "within 10 points" in str(told_beside(layout_of(six), 0, span + 0.1, SETTINGS))
    six[0] = [np.nan, np.nan, np.nan, 4.0, np.nan]
    assert "fewer than two samples" in str(told_beside(layout_of(six), 0, 10.0, SETTINGS))
    six[0] = [np.nan, np.nan, 3.0, 4.0, np.nan]
    assert isinstance(told_beside(layout_of(six), 0, 10.0, SETTINGS), Told)
    rng = np.random.default_rng(1)
    noise = rng.normal(0, 20, (6, 5))
    assert "did not tell" in str(told_beside(layout_of(noise), 0, 0.0, SETTINGS))


def test_beside_fewer_others() -> None:
    six = np.vstack([OTHERS * 1.2, PANEL, OTHERS])
    found = told_beside(layout_of(six), 0, 10.0, SETTINGS)
    assert isinstance(found, Told)
    assert found.without(["P9"]) is found
    four = found.without(["P5"])
    assert four is not None
    assert (four.n_others, list(four.each)) == (4, ["P1", "P2", "P3", "P4"])
    assert four.others == pytest.approx(PANEL.mean(axis=0) - PANEL.mean())
    assert found.without(["P5", "P1"]) is not None
    assert found.without(["P5", "P1", "P2"]) is None
    assert found.usual_span() == pytest.approx(np.median(np.ptp(six[1:], axis=1)))
    assert found.usual_span(["P1"]) == pytest.approx(np.median(np.ptp(six[2:], axis=1)))


@pytest.mark.parametrize(
    ("passed", "width", "slope", "word"),
    [
        (False, AssessorWord.WIDER, 2.0, None),
        (True, None, 2.0, AssessorWord.WITH),
        (True, AssessorWord.WIDER, None, AssessorWord.WITH),
        (True, AssessorWord.WIDER, 1.01, AssessorWord.WIDER),
        (True, AssessorWord.WIDER, 1.0, AssessorWord.WITH),
        (True, AssessorWord.NARROWER, 1.0, AssessorWord.NARROWER),
        (True, AssessorWord.NARROWER, 1.01, AssessorWord.WITH),
    ],
)
def test_a_word_on_a_note_holds_for_the_person(
    passed: bool, width: AssessorWord | None, slope: float | None, word: AssessorWord | None
) -> None:
    stands = Standing(WithPanel(passed=passed), Habits(width=width))
    assert stands.on_note(slope) is word
    assert stands.allowed(AssessorWord.WIDER, slope) is word
    assert stands.allowed(AssessorWord.FLAT, slope) is AssessorWord.FLAT
    assert stands.allowed(AssessorWord.UNSTEADY, slope) is word
    unsteady = Standing(stands.reading, Habits(less_steady=True))
    assert unsteady.allowed(AssessorWord.UNSTEADY, slope) is AssessorWord.UNSTEADY

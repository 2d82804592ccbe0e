"""What is said of a person holds over all notes together; rates in tests/bench/bench_words.py."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import Agreement, AgreementSettings, AssessorWord, assess_agreement
from analysis.agreement.indices.additive import additive
from analysis.agreement.indices.layout import ScoreLayout
from analysis.agreement.one_session.standing import astray
from analysis.agreement.one_session.with_panel import Told, reads_with, told_by_others
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=199, bootstraps=19)
GOOD = Evening(n_notes=6, spread=9.0, noise=6.0, interaction=4.0)


def with_guesser(seed: int, *, repeats: bool = False) -> pd.DataFrame:
    """P0 scores anything between 0 and 100; with `repeats` the same again for the same glass."""
    scores = GOOD.scores(seed)
    rng = np.random.default_rng([seed, 7])
    own = scores["assessor"] == "P0"
    drawn = pd.Series(rng.uniform(0.0, 100.0, len(scores)).round(), index=scores.index)
    if repeats:
        drawn = drawn.groupby([scores["sample"], scores["descriptor"]]).transform("first")
    scores.loc[own, "score"] = drawn[own]
    return scores


def word_of(found: Agreement, name: str) -> AssessorWord:
    return found.assessor(name).verdict.word


@pytest.mark.slow
@pytest.mark.parametrize("repeats", [False, True])
def test_who_scores_at_random_does_not_read_with_the_panel(repeats: bool) -> None:
    """At most .05: of 60 sessions, 7 or more would come once in a hundred times."""
    said = 0
    for seed in range(60):
        found = assess_agreement(with_guesser(seed, repeats=repeats), settings=QUICK)
        said += "reads with the panel" in found.assessor("P0").verdict.sentence
    assert said < 7


@pytest.mark.slow
def test_a_note_s_word_only_of_one_who_passed() -> None:
    for seed in range(6):
        person = assess_agreement(with_guesser(seed), settings=QUICK).assessor("P0")
        if "reads with the panel" not in person.verdict.sentence:
            words = {note.verdict for note in person.notes}
            assert not words & {AssessorWord.WITH, AssessorWord.WIDER, AssessorWord.NARROWER}


def test_the_others_alone_choose_the_notes() -> None:
    """One wild scorer makes samples look apart that the others put together."""
    rng = np.random.default_rng(2)
    table = 40.0 + rng.normal(0.0, 2.0, (6, 6))
    table[0] += 15.0 * np.arange(6)
    i, j = np.indices(table.shape).reshape(2, -1)
    names = tuple(f"P{n}" for n in range(6)), tuple(f"x{n}" for n in range(6))
    told = told_by_others(ScoreLayout(*names, i, j, table.ravel()), 10.0, QUICK)
    assert isinstance(told["P0"], str)


@pytest.mark.slow
def test_undecided_says_how_much_more_would_do() -> None:
    poor = replace(GOOD, n_notes=1, n_assessors=6, n_samples=4, spread=9.0, noise=9.0)
    said = [
        person.verdict
        for seed in range(12)
        for person in assess_agreement(poor.scores(seed), settings=QUICK).assessors
        if person.verdict.word is AssessorWord.CANNOT_TELL
    ]
    assert said
    assert all("more session" in verdict.next_action for verdict in said)
    assert {verdict.label for verdict in said} == {"cannot tell yet"}


def test_every_order_of_few_glasses() -> None:
    """Of the 24 orders of four glasses one is as good: p = 1/24, computed by hand."""
    others = np.array([10.0, 20.0, 40.0, 80.0])
    note = Told(tuple("wxyz"), others + 3.0, others, 4.0, 7, 50.0)
    found = reads_with([[note]], QUICK)
    assert found.correlation == pytest.approx(1.0)
    assert found.p == pytest.approx(1.0 / 24.0)


def test_notes_that_move_together_count_once() -> None:
    """The same note twenty times over is no more evidence than once."""
    rng = np.random.default_rng(8)
    others, own = rng.normal(size=(2, 8)) * 20.0
    note = Told(tuple("abcdefgh"), own, others, 4.0, 7, 50.0)
    one, many = reads_with([[note]], QUICK), reads_with([[note] * 20], QUICK)
    assert many.p == one.p
    assert many.correlation == pytest.approx(one.correlation)


def test_a_lasting_opinion_counts_once() -> None:
    """The same casks again, seen the same way again, are no more evidence than once."""
    rng = np.random.default_rng(8)
    others, own = rng.normal(size=(2, 8)) * 20.0
    note = Told(tuple("abcdefgh"), own + others, others, 4.0, 7, 50.0)
    new = replace(note, samples=tuple("ijklmnop"))
    once, again = reads_with([[note]], QUICK), reads_with([[note]] * 4, QUICK)
    assert again.p == once.p
    assert again.n_sessions == 4
    other = reads_with([[note], [new]], QUICK)
    assert other.p is not None
    assert once.p is not None
    assert other.p < once.p


def test_a_narrow_line_is_of_the_person() -> None:
    scores = replace(GOOD, n_assessors=12, n_samples=12, n_notes=8).scores(3)
    own = scores["assessor"] == "P3"
    middle = scores[own].groupby("descriptor")["score"].transform("mean")
    scores.loc[own, "score"] = (middle + 0.5 * (scores.loc[own, "score"] - middle)).round()
    found = assess_agreement(scores, settings=QUICK)
    assert word_of(found, "P3") is AssessorWord.NARROWER
    assert "points for one of the others' over all notes" in found.assessor("P3").verdict.sentence


def test_one_flat_note_is_no_narrow_line() -> None:
    evening = Evening(n_samples=10, flat=(3, 1), spread=18.0, noise=3.0)
    person = assess_agreement(evening.scores(), settings=QUICK).assessor("P3")
    assert person.verdict.word is AssessorWord.WITH
    assert person.notes[1].verdict is AssessorWord.FLAT


def test_less_steady_than_the_others() -> None:
    scores = replace(GOOD, n_assessors=9).scores(4)
    own = (scores["assessor"] == "P4").to_numpy()
    wild = np.random.default_rng(3).normal(0.0, 14.0, len(scores))
    scores.loc[own, "score"] = (scores["score"] + wild).clip(0, 100)[own]
    found = assess_agreement(scores, settings=QUICK)
    assert word_of(found, "P4") is AssessorWord.UNSTEADY
    assert "is less steady than the others" in found.assessor("P4").verdict.sentence


def test_the_additive_fit_is_that_of_least_squares() -> None:
    rng = np.random.default_rng(5)
    table = rng.normal(size=(7, 5))
    table[rng.random(table.shape) < 0.25] = np.nan
    row, column = np.nonzero(~np.isnan(table))
    design = np.hstack([np.eye(7)[row], np.eye(5)[column]])
    left = table[row, column] - design @ np.linalg.lstsq(design, table[row, column])[0]
    found = additive(table)
    assert np.nansum(found.left**2) == pytest.approx(left @ left)
    assert found.df == len(row) - np.linalg.matrix_rank(design)


@pytest.mark.slow
@pytest.mark.parametrize("odd", ["reversed", "flat"])
def test_one_odd_person_does_not_make_the_others_wide(odd: str) -> None:
    """With P0 in the mean of the others, about one in six of the innocent was called wide."""
    said, chances = 0, 0
    for seed in range(12):
        scores = replace(GOOD, n_assessors=8, n_samples=8).scores(seed)
        own = scores["assessor"] == "P0"
        turned = 100.0 - scores.loc[own, "score"] if odd == "reversed" else 50.0
        scores.loc[own, "score"] = turned
        found = assess_agreement(scores, settings=QUICK)
        words = [word_of(found, part.assessor) for part in found.assessors[1:]]
        said += sum(word in (AssessorWord.WIDER, AssessorWord.NARROWER) for word in words)
        chances += len(words)
    assert said / chances < 0.05


def test_who_goes_astray_is_no_measure_of_a_line() -> None:
    """By hand: of 4 x the line c and one of -c the mean is .6 c, without that one it is c."""
    line = np.array([-20.0, -10.0, 0.0, 10.0, 20.0])
    small = np.array([1.0, -1.0, 0.0, 1.0, -1.0])
    table = np.vstack([line, line + small, line - small, line, line, -line]) + 50.0
    i, j = np.indices(table.shape).reshape(2, -1)
    names = tuple(f"P{n}" for n in range(6)), tuple(f"x{n}" for n in range(5))
    told = told_by_others(ScoreLayout(*names, i, j, table.ravel()), 10.0, QUICK)
    assert isinstance(told["P5"], Told)  # the others of P5 agree, so P5 is judged
    beside = Told(names[1], table[0], 0.6 * line, 16.0, 5, 9.0,
                  {f"P{n}": table[n] for n in range(1, 6)})  # fmt: skip
    kept = beside.without({"P5"})
    assert kept is not None
    assert (kept.n_others, kept.others.round(6).tolist()) == (4, line.tolist())
    assert beside.without(set()) is beside
    assert beside.without({"P3", "P4", "P5"}) is None
    assert astray({"P5": [[told["P5"]]], "P0": [[kept]]}, QUICK) == {"P5"}


def test_a_span_is_laid_beside_spans_of_the_same_kind() -> None:
    """The middle one of the others' own spans over the same glasses, counted by hand."""
    own = np.array([10.0, 20.0, 30.0, np.nan])
    each = {
        "A": np.array([0.0, 5.0, 15.0, 90.0]),
        "B": np.array([0.0, 25.0, 10.0, 0.0]),
        "C": np.array([40.0, 0.0, 0.0, 0.0]),
        "D": np.array([np.nan, 0.0, 80.0, 0.0]),
    }
    note = Told(tuple("wxyz"), own, own, 4.0, 4, 9.0, each)
    assert note.usual_span() == 25.0
    assert note.usual_span({"C"}) == 20.0

"""Own words: what they share, who stands apart, which note of the house they may be."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.agreement import AgreementSettings, AssessorWord, PanelWord
from analysis.agreement.own_words import OwnWords, assess_own_words
from analysis.agreement.verdict.own_words import WordFacts, word_sentence
from analysis.errors import (
    FrameError,
    NoScoresError,
    OneAssessorError,
    SeveralSessionsError,
    TooFewSamplesError,
    TooLittleError,
)
from analysis.frames import reason_of
from panel.questions.own_words import WordsFound
from panel.words.agreement_words import words_lines
from tests.examples import examples

QUICK = AgreementSettings(permutations=199, bootstraps=99)
COLUMNS = ["session", "assessor", "sample", "replicate", "word", "score"]
SMOKE = np.array([85.0, 70, 55, 45, 30, 20, 10, 5])
FRUIT = np.array([10.0, 60, 20, 75, 35, 80, 15, 50])


def session(n_people: int = 6, *, noise: float = 5.0, seed: int = 1) -> pd.DataFrame:
    """Everybody has a word for smoke and one for fruit, and one that means nothing."""
    rng = np.random.default_rng(seed)
    rows = []
    for i in range(n_people):
        truth = {f"tar {i}": SMOKE, f"jam {i}": FRUIT, f"odd {i}": rng.permutation(FRUIT)}
        for word, values in truth.items():
            for s, value in enumerate(values):
                score = float(np.clip(value + rng.normal(0.0, noise), 0.0, 100.0).round())
                rows.append(("W1", f"P{i}", f"x{s}", 1, word, score))
    return pd.DataFrame(rows, columns=COLUMNS)


def house() -> pd.DataFrame:
    """What the house knows of the same samples."""
    notes = {"hearth smoke": SMOKE, "plum stone": FRUIT, "wet slate": SMOKE[::-1] * 0.3 + 20.0}
    return pd.DataFrame(
        [(f"x{s}", name, v) for name, values in notes.items() for s, v in enumerate(values)],
        columns=["sample", "descriptor", "estimate"],
    )


def judged(frame: pd.DataFrame, known: pd.DataFrame | None = None) -> OwnWords:
    return assess_own_words(frame, house=known, settings=QUICK)


def test_different_words_share_their_directions() -> None:
    found = judged(session())
    assert found.verdict.word == PanelWord.SAFE
    assert found.n_axes >= 2
    assert found.second_opinion.p <= 0.01
    assert {person.verdict.word for person in found.assessors} == {AssessorWord.WITH}
    assert "in own words, 18 words of 6 assessors over 8 samples" in found.verdict.sentence
    assert len(found.samples) == 8
    json.dumps(found.to_dict(), allow_nan=False)


def test_chance_numbers_share_nothing() -> None:
    rng = np.random.default_rng(3)
    frame = session()
    frame["score"] = rng.integers(0, 101, len(frame)).astype(float)
    found = judged(frame)
    assert found.verdict.word == PanelWord.DO_NOT
    assert found.n_axes == 0
    assert "no direction that they share is more than chance" in found.verdict.sentence


def test_who_stands_apart_is_named() -> None:
    frame = session()
    rng = np.random.default_rng(8)
    own = frame["assessor"] == "P2"
    frame.loc[own, "score"] = rng.permutation(frame.loc[own, "score"].to_numpy())
    found = judged(frame)
    person = next(part for part in found.assessors if part.assessor == "P2")
    assert person.verdict.word == AssessorWord.APART
    assert person.weight == min(part.weight for part in found.assessors)
    assert person.weight < 0.8
    assert "P2" in found.verdict.next_action
    others = [part.verdict.word for part in found.assessors if part.assessor != "P2"]
    assert set(others) == {AssessorWord.WITH}


def test_words_are_matched_to_the_house_s_notes_for_the_lead_to_confirm() -> None:
    found = judged(session(), house())
    proposed = {part.word: part.proposed for part in found.words}
    assert [proposed[f"tar {i}"] for i in range(6)] == ["hearth smoke"] * 6
    assert [proposed[f"jam {i}"] for i in range(6)] == ["plum stone"] * 6
    tar = next(part for part in found.words if part.word == "tar 0")
    assert tar.candidates[0].correlation > 0.9
    assert tar.chance is not None
    assert tar.chance < 0.05
    assert "confirm that it means hearth smoke" in tar.sentence
    assert "P0" in tar.sentence
    odd = [part for part in found.words if part.word.startswith("odd")]
    assert sum("confirm that" in part.sentence for part in odd) <= 1


def one_direction() -> pd.DataFrame:
    """Four words of each run along smoke, with a little of fruit in one of the first person's."""
    rng = np.random.default_rng(4)
    rows = []
    for i in range(5):
        words = {f"tar {i}": SMOKE, f"soot {i}": SMOKE}
        if i == 0:
            words["pear"] = 0.35 * SMOKE + 0.8 * FRUIT
        for word, values in words.items():
            for s, value in enumerate(values):
                score = float(np.clip(value + rng.normal(0.0, 2.0), 0.0, 100.0).round())
                rows.append(("W1", f"P{i}", f"x{s}", 1, word, score))
    return pd.DataFrame(rows, columns=COLUMNS)


def test_no_note_is_proposed_where_another_fits_the_word_s_own_scores_better() -> None:
    """The map has no direction for fruit: on it, a word of fruit lies nearest to smoke."""
    found = judged(one_direction(), house())
    assert found.n_axes == 1
    pear = next(part for part in found.words if part.word == "pear")
    assert pear.by_scores is not None
    assert pear.by_scores.descriptor == "plum stone"
    assert pear.proposed is None
    assert "plum stone" in pear.sentence
    assert "confirm that" not in pear.sentence
    assert found.not_seen is not None
    assert "one direction only" in found.not_seen
    assert {p.proposed for p in found.words if p.word != "pear"} == {"hearth smoke"}
    assert judged(session()).not_seen is None


def test_a_note_that_only_the_map_has_nearest_is_not_put_to_be_confirmed() -> None:
    facts = WordFacts("Esk", "pear drop", 0.7, "ash pan", 0.82, 0.044)
    assert word_sentence(facts)[0] == "ash pan"
    better = replace(
        facts, likeness=0.66, by_scores="pear core", best_likeness=0.97, chance_by_scores=0.01
    )
    proposed, sentence, action = word_sentence(better)
    assert proposed is None
    assert "correlate 0.66 with that and 0.97 with pear core" in sentence
    assert action == "ask what is meant, with the reference of pear core in hand"
    far = word_sentence(replace(better, chance=0.6))[1]
    assert "no note of the house on the map, but its own scores correlate 0.97" in far
    assert (
        "no note of the house:"
        in word_sentence(replace(better, chance=0.6, chance_by_scores=0.3))[1]
    )


def test_before_the_reveal_glasses_are_counted_by_code_and_nobody_is_judged() -> None:
    found = assess_own_words(session(), settings=QUICK, coded=True)
    assert "over 8 codes (one poured twice has two codes until the reveal)" in found.verdict.said
    assert "reveal the session" in found.verdict.next_action
    assert {person.verdict.word for person in found.assessors} == {AssessorWord.CANNOT_TELL}
    assert all("from the reveal on" in person.verdict.said for person in found.assessors)


@pytest.mark.slow
def test_without_the_house_the_reason_is_given() -> None:
    found = judged(session())
    assert found.house_reason is not None
    assert all(part.proposed is None and part.chance is None for part in found.words)
    few = judged(session(), house().query("sample in ['x0', 'x1', 'x2']"))
    assert "knows 3 of these samples" in (few.house_reason or "")
    flat = judged(session(), house().assign(estimate=30.0))
    assert "tells these samples apart" in (flat.house_reason or "")
    with pytest.raises(FrameError, match="Neither"):
        judged(session(), house().drop(columns="estimate"))


def test_samples_that_the_house_does_not_know_are_left_out_of_the_matching() -> None:
    known = house().query("sample not in ['x2', 'x5']")
    found = judged(session(), known)
    assert found.house_reason is None
    proposed = {part.word: part.proposed for part in found.words}
    assert [proposed[f"tar {i}"] for i in range(6)] == ["hearth smoke"] * 6


def test_scores_of_the_house_serve_as_well_as_a_profile() -> None:
    rng = np.random.default_rng(2)
    rows = [
        ("H", who, sample, 1, name, float(value) * 0.7 + level + rng.normal())
        for who, level in (("A", 2.0), ("B", 12.0))
        for sample, name, value in house().to_numpy().tolist()
    ]
    names = ["session", "assessor", "sample", "replicate", "descriptor", "score"]
    found = judged(session(), pd.DataFrame(rows, columns=names))
    assert {p.proposed for p in found.words if p.word.startswith("tar")} == {"hearth smoke"}


def test_a_constant_word_is_left_out_with_its_reason() -> None:
    frame = session()
    frame.loc[frame["word"] == "odd 1", "score"] = 0.0
    found = judged(frame)
    (gone,) = found.left_out_words
    assert (gone.assessor, gone.word) == ("P1", "odd 1")
    assert gone.reason == "the same score for every sample (0)"
    assert found.n_words == 17


def test_scores_of_who_knew_the_key_are_out_and_the_lines_say_so() -> None:
    frame = session().assign(status="kept")
    frame.loc[frame["assessor"] == "P5", "status"] = "knew_key"
    found = judged(frame)
    assert "P5" not in {person.assessor for person in found.assessors}
    said = " ".join(" ".join(words_lines(WordsFound(found, {}))).split())
    assert f"Left out: {(frame['status'] == 'knew_key').sum()} {reason_of('knew_key')}." in said
    assert "Left out:" not in "\n".join(words_lines(WordsFound(judged(session()), {})))


def test_missing_glasses_and_words_are_filled_and_counted() -> None:
    frame = session()
    gone = (frame["assessor"] == "P1") & (frame["sample"] == "x3")
    frame = frame[~gone]
    frame.loc[(frame["word"] == "tar 4") & (frame["sample"] == "x1"), "score"] = np.nan
    found, whole = judged(frame), judged(session())
    assert found.n_filled == 4
    assert found.verdict.word == PanelWord.SAFE
    one, other = (np.array([(p.x, p.y) for p in part.samples]) for part in (found, whole))
    for axis in range(2):
        assert abs(np.corrcoef(one[:, axis], other[:, axis])[0, 1]) > 0.97


def test_an_assessor_with_few_glasses_is_left_out() -> None:
    frame = session()
    few = (frame["assessor"] == "P5") & ~frame["sample"].isin(["x0", "x1", "x2"])
    found = judged(frame[~few])
    assert found.n_assessors == 5
    (gone,) = [part for part in found.left_out_words if part.word is None]
    assert gone.assessor == "P5"
    assert "3 of 8 samples" in gone.reason


def test_replicates_are_means_and_duplicates_are_refused() -> None:
    frame = session()
    again = frame.assign(replicate=2)
    assert judged(pd.concat([frame, again])).axes == judged(frame).axes
    with pytest.raises(FrameError, match="more than once"):
        judged(pd.concat([frame, frame.iloc[[3]]]))


def test_refusals() -> None:
    frame = session()
    with pytest.raises(OneAssessorError, match="second assessor"):
        judged(frame[frame["assessor"] == "P0"])
    with pytest.raises(TooFewSamplesError, match="3 samples"):
        judged(frame[frame["sample"].isin(["x0", "x1", "x2"])])
    with pytest.raises(SeveralSessionsError):
        judged(pd.concat([frame, frame.assign(session="W2")]))
    with pytest.raises(NoScoresError):
        judged(frame.iloc[:0])
    with pytest.raises(FrameError, match="Missing columns: word"):
        judged(frame.drop(columns="word"))
    with pytest.raises(FrameError, match="infinite"):
        judged(frame.assign(score=frame["score"].replace(frame["score"].iloc[0], np.inf)))


def test_few_glasses_or_people_are_too_little() -> None:
    frame = session()
    five = judged(frame[frame["sample"].isin([f"x{i}" for i in range(5)])])
    assert five.verdict.word == PanelWord.TOO_LITTLE
    assert "1 more sample" in five.verdict.next_action
    two = judged(frame[frame["assessor"].isin(["P0", "P1"])])
    assert two.verdict.word == PanelWord.TOO_LITTLE
    assert "third assessor" in two.verdict.next_action
    three = judged(frame[frame["assessor"].isin(["P0", "P1", "P2"])])
    assert three.verdict.word == PanelWord.SECOND_LOOK


@settings(max_examples=examples(10), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seed=st.integers(0, 10**6))
def test_the_order_of_rows_changes_nothing(seed: int) -> None:
    frame = session(seed=seed)
    shuffled = frame.sample(frac=1.0, random_state=seed)
    assert judged(frame, house()).to_dict() == judged(shuffled, house()).to_dict()


@settings(max_examples=examples(10), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seed=st.integers(0, 10**6), n=st.integers(2, 5), keep=st.floats(0.5, 1.0))
def test_any_frame_gives_an_answer_or_a_reason(seed: int, n: int, keep: float) -> None:
    rng = np.random.default_rng(seed)
    frame = session(n, noise=30.0, seed=seed)
    frame = frame[rng.random(len(frame)) < keep]
    try:
        found = judged(frame, house())
    except (NoScoresError, OneAssessorError, TooFewSamplesError, TooLittleError):
        return
    json.dumps(found.to_dict(), allow_nan=False)
    assert found.verdict.word in list(PanelWord)
    assert all(part.verdict.sentence and part.verdict.next_action for part in found.assessors)
    assert all(part.sentence and part.next_action for part in found.words)


def test_units_and_levels_of_a_person_do_not_matter() -> None:
    """A table may be shifted, mirrored words and all; the map and the weights stay."""
    frame = session()
    own = frame["assessor"] == "P1"
    moved = frame.assign(score=frame["score"].where(~own, 0.5 * frame["score"] + 20.0))
    one, other = judged(frame), judged(moved)
    assert [part.eigenvalue for part in other.axes] == pytest.approx(
        [part.eigenvalue for part in one.axes], rel=1e-9
    )
    assert [p.weight for p in other.assessors] == pytest.approx(
        [p.weight for p in one.assessors], rel=1e-9
    )


@pytest.mark.slow
def test_glasses_in_doubt_are_left_out_and_the_verdict_with_them_is_said() -> None:
    words = session()
    doubtful = words["sample"].isin(["x0", "x1"]) & (words["assessor"] == words["assessor"].iloc[0])
    status = doubtful.map({True: "swap_suspected", False: "kept"})
    found, plain = judged(words.assign(status=status)), judged(words[~doubtful])
    assert found.verdict == plain.verdict
    assert found.waiting is not None
    assert (found.waiting.n_scores, found.waiting.n_glasses) == (int(doubtful.sum()), 2)
    assert found.waiting.verdict_with == judged(words).verdict.word
    assert plain.waiting is None

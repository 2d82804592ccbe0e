from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.agreement import (
    AgreementSettings,
    AssessorWord,
    PanelWord,
    WhyNot,
    assess_agreement,
)
from analysis.errors import (
    FrameError,
    NoScoresError,
    OneAssessorError,
    OneSampleError,
    SeveralSessionsError,
)
from tests.examples import examples
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=199, bootstraps=199)


def test_a_clear_session_is_safe_to_act_on() -> None:
    found = assess_agreement(Evening().scores(), settings=QUICK)
    assert found.verdict.word == PanelWord.SAFE
    for note in found.descriptors:
        assert note.verdict.word == PanelWord.SAFE
        assert "points from lowest to highest" in note.verdict.sentence
        assert note.verdict.sentence.endswith(f"{note.verdict.next_action}.")
        assert note.permutation_p == pytest.approx(0.005)
    for person in found.assessors:
        assert person.verdict.word == AssessorWord.WITH
        assert person.assessor in person.verdict.sentence


def test_a_panel_that_scatters_is_not_to_be_acted_on() -> None:
    evening = Evening(spread=1e-9, noise=25.0, interaction=0.0)
    found = assess_agreement(evening.scores(2), settings=QUICK)
    assert {note.verdict.word for note in found.descriptors} == {PanelWord.DO_NOT}
    assert "would miss a difference of less than" in found.descriptors[0].verdict.sentence
    assert found.verdict.word == PanelWord.DO_NOT


def test_like_casks_nosed_steadily_are_alike() -> None:
    evening = Evening(spread=1e-9, noise=4.0, interaction=0.0)
    found = assess_agreement(evening.scores(3), settings=QUICK)
    assert {note.verdict.word for note in found.descriptors} == {PanelWord.ALIKE}
    said = found.descriptors[0].verdict.sentence
    assert "no two differ by more than" in said
    assert "would have seen" not in said


def test_alike_follows_the_balanced_formula() -> None:
    note = assess_agreement(Evening().scores(), settings=QUICK).descriptors[0]
    effect, i, k = note.sample_effect, 8, 2
    assert effect.f is not None
    means = np.array([part.mean for part in note.means])
    ms_sample = i * k * np.sum((means - means.mean()) ** 2) / (len(means) - 1)
    wanted = 2.8 * np.sqrt(2.0 * ms_sample / effect.f / (i * k))
    assert note.seen_difference == pytest.approx(wanted, rel=1e-10)


def test_few_samples_or_duplicates_are_too_little() -> None:
    few = assess_agreement(Evening(n_samples=4).scores(), settings=QUICK)
    assert {note.verdict.word for note in few.descriptors} == {PanelWord.TOO_LITTLE}
    assert "2 more samples" in few.descriptors[0].verdict.sentence
    once = assess_agreement(Evening(replicates=1).scores(), settings=QUICK)
    assert {note.verdict.word for note in once.descriptors} == {PanelWord.TOO_LITTLE}
    assert "2 more blind duplicates" in once.descriptors[0].verdict.sentence
    assert once.descriptors[0].sample_effect.f is not None


@pytest.mark.slow
def test_duplicates_pool_over_recent_sessions() -> None:
    once = Evening(replicates=1).scores()
    earlier = pd.concat([Evening(session=f"R{i}").scores(i) for i in range(8)])
    found = assess_agreement(once, recent=earlier, settings=QUICK)
    assert found.n_recent_sessions == 5
    assert found.descriptors[0].verdict.word == PanelWord.SAFE
    assert found.descriptors[0].repeat.df == 5 * 8 * 6
    assert found.descriptors[0].repeat.sd == pytest.approx(5.0, rel=0.15)


@pytest.mark.slow
def test_recent_scores_of_this_session_do_not_count_twice() -> None:
    scores = Evening().scores()
    found = assess_agreement(scores, recent=scores, settings=QUICK)
    assert found.n_recent_sessions == 0
    assert found.to_dict() == assess_agreement(scores, settings=QUICK).to_dict()


def test_below_five_assessors_nobody_is_judged_and_nothing_is_safe() -> None:
    found = assess_agreement(Evening(n_assessors=3).scores(), settings=QUICK)
    assert {note.verdict.word for note in found.descriptors} == {PanelWord.SECOND_LOOK}
    assert "3 assessors" in found.descriptors[0].verdict.sentence
    assert {person.verdict.word for person in found.assessors} == {AssessorWord.TOO_LITTLE}
    assert all("repeats within" in person.verdict.sentence for person in found.assessors)


def test_references_and_warm_up_are_no_part_of_an_index() -> None:
    tests = Evening().scores()
    others = pd.concat(
        [
            Evening(kind="warm_up").scores(5).assign(sample="warm"),
            Evening(kind="reference").scores(6).assign(sample="house"),
        ]
    ).drop_duplicates(["assessor", "sample", "replicate", "descriptor"])
    plain = assess_agreement(tests, settings=QUICK)
    both = assess_agreement(pd.concat([tests, others]), settings=QUICK)
    assert both.left_out == {"warm-up glass": 8 * 2 * 4}
    assert both.n_samples == 6
    for one, other in zip(plain.descriptors, both.descriptors, strict=True):
        assert one.sample_effect == other.sample_effect
        assert other.repeat.n_duplicates == one.repeat.n_duplicates + 1


def test_mostly_zero_notes_go_by_permutation() -> None:
    scores = Evening(n_notes=1, spread=1e-9).scores()
    rng = np.random.default_rng(4)
    scores["score"] = np.where(rng.random(len(scores)) < 0.7, 0.0, 12.0)
    scores.loc[scores["sample"] == "x3", "score"] = 40.0
    (note,) = assess_agreement(scores, settings=QUICK).descriptors
    assert note.note is not None
    assert "permutation" in note.note
    assert note.p_adjusted == note.permutation_p
    assert note.presence_rate == pytest.approx((scores["score"] > 0).mean())
    assert note.mean_if_present == pytest.approx(scores["score"][scores["score"] > 0].mean())


@pytest.mark.slow
def test_swapped_glasses_are_found_and_named() -> None:
    found = assess_agreement(Evening(n_notes=8, swapped=(2, 1, 4)).scores(7), settings=QUICK)
    by_name = {person.assessor: person for person in found.assessors}
    swap = by_name["P2"].swap
    assert swap is not None
    assert swap.samples == ("x1", "x4")
    assert by_name["P2"].verdict.word == AssessorWord.REVERSED
    assert "x1 and x4" in by_name["P2"].verdict.sentence
    assert [name for name, person in by_name.items() if person.swap] == ["P2"]


def test_a_note_the_wrong_way_round() -> None:
    evening = Evening(n_samples=8, reversed_on=(3, 1), spread=18.0)
    found = assess_agreement(evening.scores(), settings=QUICK)
    person = found.assessors[3]
    assert person.notes[1].verdict == AssessorWord.REVERSED
    assert "opposite way round" in person.verdict.sentence
    assert "note 1" in person.verdict.sentence


def test_one_session_only_says_that_glasses_were_not_separated() -> None:
    evening = Evening(n_samples=10, flat=(3, 1), spread=18.0, noise=3.0)
    found = assess_agreement(evening.scores(), settings=QUICK)
    assert found.assessors[3].notes[1].verdict == AssessorWord.FLAT
    assert "did not separate these glasses on note 1" in found.assessors[3].verdict.sentence
    assert found.private == ()


def test_what_is_close_to_health_is_private() -> None:
    evenings = [
        Evening(session=f"S{i}", n_samples=8, flat=(3, 1), spread=18.0).scores(i) for i in range(5)
    ]
    for at, evening in enumerate(evenings):
        evening["sample"] = f"{at} " + evening["sample"]
    found = assess_agreement(evenings[-1], recent=pd.concat(evenings[:-1]), settings=QUICK)
    (fact,) = found.private
    assert (fact.assessor, fact.descriptor, fact.n_sessions) == ("P3", "note 1", 5)
    assert "private" not in found.to_dict()
    assert fact.sentence not in json.dumps(found.to_dict())
    assert found.to_dict(private=True)["private"][0]["assessor"] == "P3"


def test_unsteady_needs_more_than_bad_luck() -> None:
    scores = Evening(n_assessors=9).scores()
    wild = (scores["assessor"] == "P4") & (scores["descriptor"] == "note 2")
    swing = np.where(scores["replicate"] == 1, 18.0, -18.0)
    scores.loc[wild, "score"] = (scores["score"] + swing).clip(0, 100)[wild]
    found = assess_agreement(scores, settings=QUICK)
    assert found.assessors[4].notes[2].verdict == AssessorWord.UNSTEADY
    others = [person for person in found.assessors if person.assessor != "P4"]
    words = {note.verdict for person in others for note in person.notes}
    assert AssessorWord.UNSTEADY not in words


# What cannot be computed comes back as a reason, what cannot be used is refused.


def test_a_constant_note_is_a_reason() -> None:
    scores = Evening().scores()
    scores.loc[scores["descriptor"] == "note 1", "score"] = 0.0
    note = assess_agreement(scores, settings=QUICK).descriptor("note 1")
    assert note.sample_effect.f is None
    assert note.sample_effect.reason == "every score is the same (0)"
    assert note.icc is None
    assert note.icc_note
    assert note.variance.note
    assert note.verdict.word == PanelWord.ALIKE
    assert note.verdict.sentence.startswith("Note 1 is not there in any glass")


def test_one_assessor_at_zero_throughout_is_no_trouble() -> None:
    scores = Evening().scores()
    scores.loc[(scores["assessor"] == "P1") & (scores["descriptor"] == "note 1"), "score"] = 0.0
    found = assess_agreement(scores, settings=QUICK)
    person = found.assessors[1].notes[1]
    assert person.correlation is None
    assert person.slope == pytest.approx(0.0)
    json.dumps(found.to_dict(), allow_nan=False)


def test_perfect_agreement_is_a_reason() -> None:
    scores = Evening(n_notes=1).scores()
    scores["score"] = scores["sample"].str[1:].astype(float) * 10 + 5
    (note,) = assess_agreement(scores, settings=QUICK).descriptors
    assert note.sample_effect.f is None
    assert "no noise" in (note.sample_effect.reason or "")
    json.dumps(note.to_dict(), allow_nan=False)


def test_a_note_that_one_person_scored() -> None:
    scores = Evening().scores()
    drop = (scores["descriptor"] == "note 1") & (scores["assessor"] != "P0")
    note = assess_agreement(scores[~drop], settings=QUICK).descriptor("note 1")
    assert note.n_missing == 7 * 12
    assert note.sample_effect.reason == "only P0 scored it"
    assert note.verdict.word == PanelWord.TOO_LITTLE


def test_blanks_count_as_missing_never_as_zero() -> None:
    scores = Evening().scores()
    scores.loc[[0, 9], "score"] = np.nan
    found = assess_agreement(scores, settings=QUICK)
    assert sum(note.n_missing for note in found.descriptors) == 2
    assert found.left_out == {"left blank": 2}
    means = {p.sample: p.mean for p in found.descriptors[0].means}
    assert min(means.values()) > 10.0


def test_refusals() -> None:
    scores = Evening().scores()
    with pytest.raises(OneAssessorError, match="second assessor"):
        assess_agreement(scores[scores["assessor"] == "P0"])
    with pytest.raises(OneSampleError, match="two samples"):
        assess_agreement(scores[scores["sample"] == "x0"])
    with pytest.raises(SeveralSessionsError, match="one session"):
        assess_agreement(pd.concat([scores, Evening(session="S2").scores()]))
    with pytest.raises(NoScoresError, match="384 void"):
        assess_agreement(scores.assign(status="void"))
    with pytest.raises(FrameError, match="more than once"):
        assess_agreement(pd.concat([scores, scores.iloc[[5]]]))


def test_scales_are_kept_and_points_are_of_the_house_line() -> None:
    scores = Evening().scores()
    tenth = scores.assign(score=scores["score"] / 10.0, scale_low=0.0, scale_high=10.0)
    one, ten = (assess_agreement(frame, settings=QUICK) for frame in (scores, tenth))
    for whole, part in zip(one.descriptors, ten.descriptors, strict=True):
        assert part.verdict.sentence == whole.verdict.sentence
        assert part.variance.residual == pytest.approx((whole.variance.residual or 0) / 100.0)
        assert part.sample_effect.f == pytest.approx(whole.sample_effect.f)


def test_mixed_scales_meet_on_the_house_line() -> None:
    scores = Evening().scores()
    half = scores["assessor"].isin(["P0", "P1"])
    mixed = scores.assign(
        score=scores["score"].where(~half, scores["score"] / 10.0),
        scale_high=np.where(half, 10.0, 100.0),
    )
    one, other = (assess_agreement(frame, settings=QUICK) for frame in (scores, mixed))
    assert other.descriptors[0].scale_high == 100.0
    assert other.descriptors[0].sample_effect.f == pytest.approx(one.descriptors[0].sample_effect.f)


@settings(max_examples=examples(15), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seed=st.integers(0, 10**6), holes=st.integers(0, 12))
def test_the_order_of_rows_changes_nothing(seed: int, holes: int) -> None:
    rng = np.random.default_rng(seed)
    scores = Evening(n_assessors=5, n_notes=2).scores(seed)
    scores = scores[~scores.index.isin(rng.choice(len(scores), holes, replace=False))]
    shuffled = scores.sample(frac=1.0, random_state=seed)
    one, other = (assess_agreement(frame, settings=QUICK) for frame in (scores, shuffled))
    assert one.to_dict() == other.to_dict()


@pytest.mark.slow
@settings(max_examples=examples(15), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(seed=st.integers(0, 10**6), holes=st.integers(0, 12))
def test_the_names_of_people_and_samples_change_no_figure(seed: int, holes: int) -> None:
    rng = np.random.default_rng(seed)
    scores = Evening(n_assessors=5, n_notes=1).scores(seed)
    scores = scores[~scores.index.isin(rng.choice(len(scores), holes, replace=False))]
    renamed = scores.copy()
    for column in ("assessor", "sample"):
        names = sorted(set(scores[column]))
        renamed[column] = scores[column].map(dict(zip(names, rng.permutation(names), strict=True)))
    (one,), (other,) = (
        assess_agreement(frame, settings=QUICK).descriptors for frame in (scores, renamed)
    )
    assert other.sample_effect.f == pytest.approx(one.sample_effect.f, rel=1e-6)
    assert other.variance.log_likelihood == pytest.approx(one.variance.log_likelihood, rel=1e-9)
    assert other.kendall_w == pytest.approx(one.kendall_w)
    assert other.seen_difference == pytest.approx(one.seen_difference, rel=1e-6)


@settings(max_examples=examples(25), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=st.integers(0, 10**6),
    n_assessors=st.integers(2, 6),
    n_samples=st.integers(2, 7),
    keep=st.floats(0.3, 1.0),
    levels=st.sampled_from([2, 5, 101]),
)
def test_any_frame_gives_an_answer_or_a_reason(
    seed: int, n_assessors: int, n_samples: int, keep: float, levels: int
) -> None:
    """Ragged, coarse, tiny: no figure without a value goes without its reason."""
    rng = np.random.default_rng(seed)
    scores = Evening(n_assessors=n_assessors, n_samples=n_samples, n_notes=2).scores(seed)
    scores["score"] = np.round(scores["score"] * (levels - 1) / 100.0) * 100.0 / (levels - 1)
    scores = scores[rng.random(len(scores)) < keep]
    try:
        found = assess_agreement(scores, settings=QUICK)
    except (NoScoresError, OneAssessorError, OneSampleError):
        return
    json.dumps(found.to_dict(private=True), allow_nan=False)
    for note in found.descriptors:
        assert note.sample_effect.f is not None or note.sample_effect.reason
        assert note.sample_effect_reml.f is not None or note.sample_effect_reml.reason
        assert note.variance.interaction is not None or note.variance.note
        assert note.icc is not None or note.icc_note
        assert note.kendall_w is not None or note.kendall_note
        assert note.scaling.f_disagreement is not None or note.scaling.reason
        assert note.repeat.sd is not None or note.repeat.reason
        assert note.verdict.sentence
        assert note.verdict.word in list(PanelWord)
    for person in found.assessors:
        assert person.verdict.word in list(AssessorWord)
        assert all(part.verdict or part.reason for part in person.notes)


def test_json_has_the_keys_that_scripts_lean_on() -> None:
    found = assess_agreement(Evening().scores(), settings=QUICK).to_dict()
    assert {"session", "verdict", "descriptors", "assessors"} <= set(found)
    note = found["descriptors"][0]
    assert {
        "descriptor", "n_scores", "n_missing", "sample_effect", "variance", "icc", "kendall_w",
        "scaling", "verdict",
    } <= set(note)  # fmt: skip
    assert {"f", "df_num", "df_den", "p"} <= set(note["sample_effect"])
    assert {"assessor", "interaction", "residual"} <= set(note["variance"])
    assert set(note["icc"]) == {"1,1", "2,1", "3,1", "1,k", "2,k", "3,k"}
    assert {"f_sample", "f_scaling", "f_disagreement"} <= set(note["scaling"])
    assert {"assessor", "verdict", "sentence", "next_action"} <= set(found["assessors"][0])


@pytest.mark.slow
def test_same_seed_same_answer() -> None:
    scores = Evening(n_assessors=5, noise=15.0).scores()
    one, two, other = (assess_agreement(scores, settings=QUICK, seed=s) for s in (1, 1, 2))
    assert one.to_dict() == two.to_dict()
    assert one.descriptors[0].reliability_low != other.descriptors[0].reliability_low


def test_nobody_is_judged_by_samples_that_lie_close_together() -> None:
    """A steady panel may tell 4 points apart; that is no ground to speak of a person."""
    evening = Evening(spread=1.5, noise=0.6, interaction=0.2)
    found = assess_agreement(evening.scores(), settings=QUICK)
    assert found.descriptors[0].verdict.word == PanelWord.SAFE
    note = found.assessors[0].notes[0]
    assert note.verdict is None
    assert note.reason is not None
    assert note.reason.why is WhyNot.NOBODY
    assert note.reason.said == "the samples lie within 10 points of one another"


def test_unbalanced_without_interaction_goes_by_cell_means() -> None:
    """REML puts the interaction at zero: the verdict's F is named, REML's stands beside it."""
    scores = Evening(interaction=0.0, n_notes=6).scores(5)
    scores = scores[~scores.index.isin([4, 9, 40, 77, 78, 79])]
    found = assess_agreement(scores, settings=QUICK)
    zero = [note for note in found.descriptors if note.variance.interaction == 0.0]
    assert zero
    for note in zero:
        assert "means" in note.sample_effect.method
        assert "Satterthwaite" in note.sample_effect_reml.method
        assert note.sample_effect.f != note.sample_effect_reml.f
        assert (note.sample_effect.df_num, note.sample_effect.df_den) == (5, 35)


def test_a_document_tells_verdicts_flat_and_in_words() -> None:
    found = assess_agreement(Evening().scores(), settings=QUICK)
    told = found.to_dict()
    assert list(told)[:4] == ["session", "verdict", "sentence", "next_action"]
    for part, said in ((told, found), (told["descriptors"][0], found.descriptors[0])):
        assert part["verdict"] == said.verdict.label == "safe to act on"
        assert part["sentence"] == f"{said.verdict.said}: {said.verdict.next_action}."
        assert part["next_action"] == said.verdict.next_action
    notes = [note for person in found.assessors for note in person.notes]
    rows = [note for person in told["assessors"] for note in person["descriptors"]]
    for row, note in zip(rows, notes, strict=True):
        assert row["verdict"] == note.verdict
        assert row["reason"] == (note.reason and note.reason.said)


@pytest.mark.slow
def test_no_second_look_without_a_difference_among_all_notes() -> None:
    """A reliability of .6 alone comes by chance on one of twenty notes in most sessions."""
    evening = Evening(n_notes=20, spread=1e-9, noise=8.0, interaction=4.0)
    said = [
        any(
            note.verdict.word in (PanelWord.SAFE, PanelWord.SECOND_LOOK)
            for note in assess_agreement(evening.scores(seed), settings=QUICK).descriptors
        )
        for seed in range(12)
    ]
    assert sum(said) <= 3


def test_between_apart_and_alike_it_says_how_much_more_would_do() -> None:
    evening = Evening(spread=1e-9, noise=11.0, interaction=0.0)
    notes = assess_agreement(evening.scores(4), settings=QUICK).descriptors
    undecided = [note for note in notes if note.verdict.word is PanelWord.CANNOT_TELL]
    assert undecided
    for note in undecided:
        assert "no two differ by more than" in note.verdict.sentence
        assert "would do" in note.verdict.next_action
        assert note.at_most_apart is not None
        assert note.at_most_apart > 10.0


@pytest.mark.slow
def test_the_same_casks_nosed_again_are_called_alike_sooner() -> None:
    evening = Evening(n_notes=3, spread=1e-9, noise=9.0, interaction=0.0)
    tonight = evening.scores(30)
    before = pd.concat([evening.scores(31 + at).assign(session=f"R{at}") for at in range(3)])
    alone = assess_agreement(tonight, settings=QUICK)
    again = assess_agreement(tonight, recent=before, settings=QUICK, with_history=False)
    coded = assess_agreement(tonight, recent=before, settings=QUICK, with_history=False, coded=True)
    for one, more, code in zip(
        alone.descriptors, again.descriptors, coded.descriptors, strict=True
    ):
        assert one.at_most_apart is not None
        assert more.at_most_apart is not None
        assert more.at_most_apart < one.at_most_apart
        assert code.at_most_apart == one.at_most_apart


def test_before_the_reveal_nobody_is_asked_for_duplicates_that_were_poured() -> None:
    """Codes hide which glasses are one liquid; how many there are is known from the plan."""
    coded = Evening(n_notes=2, replicates=1).scores(1)
    asked = assess_agreement(coded, settings=QUICK, coded=True)
    assert "2 more blind duplicates" in asked.descriptors[0].verdict.sentence
    found = assess_agreement(coded, settings=QUICK, coded=True, n_hidden=2)
    said = json.dumps(found.to_dict())
    assert "more blind duplicate" not in said
    assert "two blind duplicates next time" not in said
    assert "pour a blind duplicate" not in said
    assert "no glass twice" not in said
    assert found.verdict.word is PanelWord.TOO_LITTLE
    assert "count from the reveal on" in found.verdict.sentence
    assert found.descriptors[0].repeat.n_duplicates == 0
    one = assess_agreement(coded, settings=QUICK, coded=True, n_hidden=1)
    assert "1 more blind duplicate " in one.descriptors[0].verdict.sentence
    assert "two blind duplicates next time" in one.verdict.sentence


def test_a_small_panel_before_the_reveal_is_not_told_that_nobody_nosed_twice() -> None:
    coded = Evening(n_assessors=3, n_notes=1, replicates=1).scores(1)
    found = assess_agreement(coded, settings=QUICK, coded=True, n_hidden=2)
    assert found.small_panel is not None
    assert "nobody nosed a glass twice" not in found.small_panel.sentence
    assert "from the reveal on" in found.small_panel.sentence

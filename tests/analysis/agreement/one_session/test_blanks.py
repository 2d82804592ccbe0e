"""Low scores left blank are spoken of; blanks that fall anywhere are not."""

from __future__ import annotations

import numpy as np

from analysis.agreement import AgreementSettings, assess_agreement
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=19)
EVENING = Evening(n_notes=2, n_assessors=8, n_samples=8)


def test_low_scores_left_blank_are_said() -> None:
    scores = EVENING.scores()
    cut = scores.groupby("descriptor")["score"].transform(lambda s: s.quantile(0.15))
    scores.loc[scores["score"] < cut, "score"] = np.nan
    for note in assess_agreement(scores, settings=QUICK).descriptors:
        assert note.note is not None
        assert "left blank where the others score low" in note.note


def test_blanks_that_fall_anywhere_are_not() -> None:
    """Three in a hundred notes by chance: of 16, 4 or more would come in two of a thousand."""
    said = 0
    for seed in range(8):
        scores = EVENING.scores(seed)
        gone = np.random.default_rng([seed, 1]).random(len(scores)) < 0.1
        scores.loc[gone, "score"] = np.nan
        found = assess_agreement(scores, settings=QUICK)
        said += sum(note.note is not None for note in found.descriptors)
    assert said < 4


def test_a_glass_that_the_close_cut_off_whole_is_no_blank_and_takes_none_away() -> None:
    """One glass that P1 never came to, and one of which the last line was cut off."""
    scores = Evening(n_notes=2).scores().assign(status="kept")
    own = scores["assessor"] == "P1"
    whole = own & (scores["sample"] == "x0") & (scores["replicate"] == 1)
    last = own & (scores["sample"] == "x1") & (scores["replicate"] == 1)
    assert whole.sum() == last.sum() == 2
    cut = whole | (last & (scores["descriptor"] == "note 1"))
    scores.loc[cut, "score"] = np.nan
    scores.loc[cut, "status"] = "not_reached_before_the_close"
    blank = own & (scores["sample"] == "x2") & (scores["replicate"] == 1)
    scores.loc[blank & (scores["descriptor"] == "note 1"), "score"] = np.nan
    found = assess_agreement(scores, settings=QUICK)
    missing = {note.descriptor: note.n_missing for note in found.descriptors}
    assert missing == {"note 0": 0, "note 1": 1}
    (person,) = (each for each in found.assessors if each.assessor == "P1")
    assert person.n_missing == 1

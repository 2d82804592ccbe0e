"""What one assessor takes home: about that person alone, without a rank."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from analysis.agreement import AgreementSettings, EveningNote, assess_agreement, evening_note
from analysis.errors import NobodyError
from tests.houses.worlds import Evening

QUICK = AgreementSettings(permutations=99, bootstraps=99)


def note(
    scores: pd.DataFrame, assessor: str = "P3", recent: pd.DataFrame | None = None
) -> EveningNote:
    agreement = assess_agreement(scores, recent=recent, settings=QUICK)
    return evening_note(agreement, scores, recent, assessor, settings=QUICK)


def placed(scores: pd.DataFrame) -> pd.DataFrame:
    """Each tray in an order of its own, P3's by name."""
    place = scores["sample"].str[1:].astype(int) + scores["assessor"].str[1:].astype(int) - 3
    return scores.assign(position=1 + place % scores["sample"].nunique())


@pytest.mark.slow
def test_what_was_repeated_is_said_in_points() -> None:
    scores = Evening().scores()
    own = scores[scores["assessor"] == "P3"].set_index(["descriptor", "sample", "replicate"])
    spans = own["score"].unstack("replicate").diff(axis=1)[2].abs()
    by_note = spans.groupby("descriptor").mean()
    (said,) = note(scores).repeated
    assert "6 samples came back to you unmarked" in said
    assert f"closest on {by_note.idxmin()}" in said
    assert f"furthest on {by_note.idxmax()}" in said
    once = scores[scores["replicate"] == 1]
    assert "No glass came back" in note(once).repeated[0]


@pytest.mark.slow
def test_what_was_found_first_and_most_clearly() -> None:
    found = note(placed(Evening(spread=18.0).scores())).found
    assert found[0].startswith("What you found first was ")
    assert any(said.startswith("You told the glasses apart most clearly on ") for said in found)
    without_places = note(Evening(spread=18.0).scores()).found
    assert not any("found first" in said for said in without_places)


def test_what_nobody_else_found_is_asked_about() -> None:
    scores = Evening(n_notes=1).scores()
    rare = scores.assign(descriptor="cellar", score=0.0)
    own = (rare["assessor"] == "P3") & (rare["sample"] == "x2")
    rare.loc[own, "score"] = 35.0
    found = note(pd.concat([scores, rare], ignore_index=True)).found
    assert any("You found cellar in x2" in said for said in found)
    other = note(pd.concat([scores, rare], ignore_index=True), "P4").found
    assert not any("cellar" in said for said in other)


@pytest.mark.slow
def test_where_the_person_and_the_panel_differ() -> None:
    evening = Evening(n_samples=8, reversed_on=(3, 1), spread=18.0)
    found = note(evening.scores())
    assert any("the opposite way round" in said for said in found.differ)
    assert any("above the others" in s or "below the others" in s for s in found.differ)
    assert found.next_action == "let the lead look at your glasses first"
    alike = note(evening.scores(), "P4")
    assert not any("opposite way round" in said for said in alike.differ)


@pytest.mark.slow
def test_a_swapped_tray_is_not_held_against_anybody() -> None:
    found = note(Evening(n_notes=8, swapped=(3, 1, 4)).scores(7))
    assert "x1 and x4" in found.differ[0]
    assert "not held against you" in found.differ[0]


def test_own_progress_and_never_a_rank() -> None:
    earlier = pd.concat([Evening(session=f"E{i}", noise=12.0).scores(i + 5) for i in range(3)])
    found = note(Evening(noise=4.0).scores(), recent=earlier)
    assert any("steadier" in said for said in found.progress)
    assert any("3 sessions" in said for said in found.progress)
    everything = " ".join([*found.sentences, found.next_action])
    others = [f"P{i}" for i in range(8) if i != 3]
    assert not any(name in everything for name in others)
    for word in ("best", "worst", "rank", "league", "better than"):
        assert word not in everything
    assert note(Evening().scores()).progress[0].startswith("This is your first session")


def test_blank_lines_are_named_to_the_person() -> None:
    scores = Evening().scores()
    own = scores.index[scores["assessor"] == "P3"]
    scores.loc[own[:2], "score"] = np.nan
    assert any("2 lines blank" in said for said in note(scores).progress)


def test_private_facts_are_for_that_person_only_and_when_asked_for() -> None:
    evenings = [
        Evening(session=f"S{i}", n_samples=8, flat=(3, 1), spread=18.0).scores(i) for i in range(5)
    ]
    for at, evening in enumerate(evenings):
        evening["sample"] = f"{at} " + evening["sample"]
    recent = pd.concat(evenings[:-1])
    mine, other = (note(evenings[-1], who, recent) for who in ("P3", "P4"))
    assert len(mine.private) == 1
    assert "note 1" in mine.private[0]
    assert other.private == ()
    assert mine.private[0] not in mine.sentences
    assert "private" not in mine.to_dict()
    assert json.loads(json.dumps(mine.to_dict(private=True)))["private"] == list(mine.private)


def test_somebody_who_was_not_there() -> None:
    with pytest.raises(NobodyError, match="There were: P0, P1"):
        note(Evening().scores(), "Nobody")

"""A profile says which notes the panel read two ways."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd
import pytest

from analysis.agreement.sessions.camps_in_house import notes_in_camps
from analysis.profile import Profile, estimate_profile
from analysis.profile.camps import NoteCamps, read_two_ways
from analysis.target import Target, TargetLine, match_casks
from tests.analysis.agreement.sessions.test_span_camps import half_reversed


def test_half_a_panel_reversed_is_found_on_its_notes_alone() -> None:
    assert notes_in_camps(half_reversed(("note 0", "note 3"))) == (
        NoteCamps("note 0", 3, 3),
        NoteCamps("note 3", 3, 3),
    )
    assert notes_in_camps(half_reversed(())) == ()


def test_fewer_than_five_people_are_no_camps() -> None:
    scores = half_reversed(("note 0",), ("P0", "P1"))
    assert notes_in_camps(scores[scores["assessor"].isin(["P0", "P1", "P2", "P3"])]) == ()


@pytest.mark.parametrize(("names", "said"), [(None, True), (["flour"], True), (["oak"], False)])
def test_it_is_told_of_the_notes_asked_for(names: list[str] | None, said: bool) -> None:
    found = read_two_ways((NoteCamps("flour", 2, 3),), names)
    assert (found is not None) is said
    if found is not None:
        assert "On flour the panel read two ways, each camp the other way round, in 2 of 3" in found
        assert "its direction cannot be told" in found


def test_a_profile_tells_it_where_it_tells_what_cannot_be_compared() -> None:
    camps = (NoteCamps("flour", 2, 3),)
    nothing = pd.DataFrame({"kind": [], "sample": [], "n_sessions": []})
    found = Profile(nothing, (), (), None, 200, {}, camps=camps)
    assert "On flour the panel read two ways" in (found.note or "")
    assert found.note_on(["oak"]) is None
    assert replace(found, camps=()).note is None


def test_a_match_warns_of_the_notes_of_its_target_alone() -> None:
    scores = half_reversed(("note 0",))
    known = replace(
        estimate_profile(scores.assign(cask=scores["sample"])), camps=notes_in_camps(scores)
    )
    for note, said in (("note 0", True), ("note 1", False)):
        target = Target("Dew", (TargetLine(note, aim=50.0, tolerance=10.0),))
        found = match_casks(known, target)
        assert ("read two ways" in (found.note or "")) is said
        assert found.sentence.startswith("Only if the right camp was followed on note 0") is said
        assert ("nose the reference together" in found.next_action) is said

"""french_fries with its weeks as sessions: nothing poured in one week was poured in another.

The data are real (reshape2::french_fries, Cook & Swayne): three treatments a week, ten weeks,
nobody's reference. What a profile says of it is the subject here, not the figures.
"""

from __future__ import annotations

import pandas as pd
import pytest

from analysis.errors import UnlinkedError
from analysis.profile import Profile, estimate_profile
from tests.outside.real_panels import french_fries

NOTES = ("potato", "rancid")


def weeks(*, tied: tuple[str, ...] = (), untied_week: str | None = None) -> pd.DataFrame:
    """Each week a session; treatments in `tied` count as one sample poured in every week."""
    frame = french_fries(weeks=6)
    frame = frame[frame["descriptor"].isin(NOTES)]
    treatment, week = (frame["sample"].str.split("_").str[k] for k in (0, 1))
    kept = treatment.isin(tied) & (week != untied_week)
    return frame.assign(session=week, sample=treatment.where(kept, frame["sample"]))


def profile_of(frame: pd.DataFrame) -> Profile:
    return estimate_profile(frame)


def test_weeks_that_share_nothing_are_said_to_be_confounded_with_their_samples() -> None:
    found = profile_of(weeks())
    assert found.note is not None
    assert found.note.startswith("No sample was nosed in two of the 6 sessions")
    assert "cannot be told from what differs between the evenings" in found.note
    assert "Pour the house reference or a returning cask" in found.note
    assert found.to_dict()["note"] == found.note
    with pytest.raises(UnlinkedError):
        found.compare("T1_W1", "T1_W2")


def test_what_is_put_down_to_the_evenings_is_missing_between_the_samples() -> None:
    """The reason for saying so: rancidity rises with the weeks, and untied weeks hide a part."""
    apart = profile_of(weeks()).estimates
    together = profile_of(french_fries(weeks=6)).estimates
    spread = []
    for rows in (apart, together):
        some = rows[(rows["descriptor"] == "rancid") & rows["estimate"].notna()]
        spread.append(some.groupby(some["sample"].str[-2:])["estimate"].mean().std())
    assert spread[0] < 0.8 * spread[1]


def test_nothing_is_said_where_two_samples_return_every_week() -> None:
    assert profile_of(weeks(tied=("T1", "T2"))).note is None


def test_sessions_that_hang_on_one_sample_are_named_with_what_to_pour() -> None:
    note = profile_of(weeks(tied=("T1",))).note
    assert note is not None
    assert note.startswith("All 6 sessions hang on a single sample, T1:")
    assert "Pour a second sample that another session has nosed as well, such as T2_W1" in note


def test_one_week_of_many_that_hangs_on_one_sample_is_named_alone() -> None:
    frame = weeks(tied=("T1", "T2"))
    third = (frame["session"] == "W3") & (frame["sample"] == "T2")
    note = profile_of(frame.assign(sample=frame["sample"].mask(third, "T2_W3"))).note
    assert note is not None
    assert note.startswith("Session W3 hangs on a single sample, T1:")
    assert "such as T2." in note


def test_one_week_that_shares_nothing_is_named_and_the_others_are_not() -> None:
    note = profile_of(weeks(tied=("T1", "T2"), untied_week="W5")).note
    assert note is not None
    assert "2 parts that share no glass" in note
    assert "(session W5 stands apart)" in note
    assert "W3" not in note


def test_one_session_has_nothing_to_be_tied_to() -> None:
    assert profile_of(french_fries(weeks=2)).note is None

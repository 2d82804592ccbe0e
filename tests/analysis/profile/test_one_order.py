"""Samples that everybody had in one order: no estimate can part a place from a cask."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from analysis.agreement.sessions.orders_in_house import only_in_one_order
from analysis.profile import Profile
from analysis.profile.one_order import OneOrder, place_or_cask

PEOPLE, SAMPLES = "ABCDEF", ("u", "v", "w", "x", "y", "z")


def served(session: str, *, one_order: bool, samples: tuple[str, ...] = SAMPLES) -> pd.DataFrame:
    rng = np.random.default_rng(len(session))
    rows = [
        (session, who, sample, 1, place, "flour", 40.0)
        for who in PEOPLE
        for place, sample in enumerate(
            samples if one_order else rng.permutation(samples).tolist(), 1
        )
    ]
    names = ["session", "assessor", "sample", "replicate", "position", "descriptor", "score"]
    return pd.DataFrame(rows, columns=names)


def test_it_is_told_of_samples_that_stood_in_one_place_only() -> None:
    fixed = served("S1", one_order=True)
    assert only_in_one_order(fixed) == OneOrder(6, ("S1",))
    assert only_in_one_order(served("S1", one_order=False)) is None
    own = served("S22", one_order=False, samples=SAMPLES[:4])
    assert only_in_one_order(pd.concat([fixed, own])) == OneOrder(2, ("S1",))
    again = served("S22", one_order=True, samples=SAMPLES[:4])
    assert only_in_one_order(pd.concat([fixed, again])) == OneOrder(6, ("S1", "S22"))
    unknown = fixed.assign(position=float("nan"))
    assert only_in_one_order(unknown) is None, "agreement says that no order is on record"


@pytest.mark.parametrize(
    ("sessions", "said"),
    [
        (("a",), "(a)"),
        (tuple("abc"), "(a, b, c)"),
        (tuple("abcde"), "(a, b, c and 2 more sessions)"),
    ],
)
def test_the_sessions_are_named(sessions: tuple[str, ...], said: str) -> None:
    sentence = place_or_cask(OneOrder(1, sessions))
    assert sentence is not None
    assert sentence.startswith("1 sample was nosed only")
    assert said in sentence


def test_a_profile_says_it_before_casks_are_compared() -> None:
    nothing = pd.DataFrame({"kind": [], "sample": [], "n_sessions": []})
    found = Profile(nothing, (), (), None, 200, {}, one_order=OneOrder(6, ("S1",)))
    assert "6 samples were nosed only where everybody had" in (found.note or "")
    assert replace(found, one_order=None).note is None

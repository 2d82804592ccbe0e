"""What a profile says of its sessions: which hang together, by what, and what to pour."""

from __future__ import annotations

import io
import os
import pickle
import sys
from datetime import date
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
import pytest

from analysis.profile import worker
from analysis.profile.ends import ReadAs
from analysis.profile.evaluation import _own_samples
from analysis.profile.links import Link
from analysis.profile.people import _offsets
from analysis.profile.result import Profile
from analysis.profile.terms import ASSESSOR
from analysis.profile.words import (
    apart_notes,
    bridge,
    listed,
    not_comparable,
    profile_lines,
    read_as_below,
    unlinked,
    unsettled,
    waiting_note,
)

ONE = Link(("S1", "S2"), ("x", "y", "REF"), ("REF",))


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["a"], "a"),
        (["a", "b"], "a and b"),
        (list("abcd"), "a, b, c and d"),
        (list("abcde"), "a, b, c, d and 1 more"),
        (list("abcdef"), "a, b, c, d and 2 more"),
    ],
)
def test_names_in_a_row(names: list[str], said: str) -> None:
    assert listed(names) == said


@pytest.mark.parametrize(
    ("links", "said"),
    [
        ((ONE,), None),
        ((Link(("S1",), ("x",)), Link(("S2",), ("y",))), "in two of the 2 sessions"),
        ((ONE, Link(("S3",), ("y",))), "(session S3 stands apart). Pour the house reference"),
        ((ONE, Link(("S3", "S4"), ("y",))), "into 2 parts that share no glass"),
        ((ONE, Link(("S3", "S4"), ("y",))), "(session S3 and S4 stand apart)"),
        (
            (Link(("S1", "S2", "S3"), ("x", "REF", "z"), ("REF", "z"), ("S3",), ("REF",)),),
            "Session S3 hangs on a single sample, REF",
        ),
        (
            (Link(("S1", "S2", "S3"), ("x", "REF", "z"), ("REF", "z"), ("S3",), ("REF",)),),
            "such as z.",
        ),
        (
            (Link(("S1", "S2"), ("x", "REF"), ("REF",), ("S1", "S2"), ("REF", "REF")),),
            "All 2 sessions hang on a single sample, REF:",
        ),
        (
            (Link(("S1", "S2", "S3"), ("q", "p"), ("q", "p"), ("S1", "S3"), ("q", "p")),),
            "Session S1 and S3 hang on a single sample, q and p",
        ),
        ((Link(("S1",), ("x",), (), ("S1",), ("x",)),), None),
    ],
)
def test_which_sessions_hang_together(links: tuple[Link, ...], said: str | None) -> None:
    found = unlinked(links, None)
    assert (found is None) is (said is None)
    assert said is None or said in (found or "")


def test_what_to_pour_to_tie_two_parts() -> None:
    assert bridge((ONE,), "R9") == "the house reference or a returning cask (such as R9)"
    assert bridge((ONE,), None).endswith("(such as REF)")
    assert bridge((Link(("S1",), ("x", "y")),), None).endswith("(such as x)")
    assert "x and q were never tied" in not_comparable("x", "q", (ONE,), None)


def test_notes_that_some_evenings_share_by_no_glass() -> None:
    rows = [("x", "smoke", 1.0, 0), ("y", "smoke", 1.0, 1), ("x", "wax", 1.0, 0)]
    rows += [("y", "wax", np.nan, 1), ("q", "wax", 1.0, 1), ("x", "peel", 1.0, 2)]
    frame = pd.DataFrame(rows, columns=["sample", "descriptor", "estimate", "component"])
    found = apart_notes(frame, (ONE,))
    assert found is not None
    assert "with the rest: peel (1 of 1) and smoke (1 of 2)." in found
    assert "peel" not in (apart_notes(frame, (ONE,), ["smoke", "wax"]) or "")
    assert apart_notes(frame, (ONE,), ["wax"]) is None
    assert apart_notes(frame, ()) is None


def test_scores_that_are_not_used_and_fits_that_do_not_settle() -> None:
    assert waiting_note({}) is None
    assert (waiting_note({"swap suspected": 1}) or "").startswith("1 score is not used:")
    assert (waiting_note({"swap suspected": 8, "void": 2}) or "").startswith("8 scores are not")
    assert "hardly any scores" in unsettled("It moves", None, np.zeros(3))
    said = unsettled("It moves", "A", np.array([0.0, 0.0, 5.0, 7.0]))
    assert "A has no steady scale" in said
    assert "those 4 scores first (50 in 100 of them are 0)" in said


def fit(name: str, reading: ReadAs, why: str | None = None, reason: str | None = None) -> Any:
    return SimpleNamespace(descriptor=name, reading=reading, reading_reason=why, reason=reason)


def test_how_a_zero_was_read() -> None:
    written, below = fit("smoke", ReadAs.AS_WRITTEN), fit("wax", ReadAs.BELOW)
    assert read_as_below([written]) is None
    assert (read_as_below([written, below]) or "").startswith("Scores at an end of the line are")
    assert "beyond it on wax:" in (read_as_below([written, below]) or "")
    why = fit("peel", ReadAs.AS_WRITTEN, "few scores lie between")
    assert read_as_below([why]) == "On peel few scores lie between."


@pytest.mark.parametrize("full", [True, False])
def test_what_a_profile_holds(full: bool) -> None:
    told: dict[str, Any] = {
        "as_of": date(2026, 3, 1),
        "note": "Two parts.",
        "left_out": {"void": 3},
    }
    none: dict[str, Any] = {"as_of": None, "note": None, "left_out": {}}
    profile: Any = SimpleNamespace(
        estimates=pd.DataFrame({"sample": ["x", "y", "x"]}),
        fits=[fit("smoke", ReadAs.BELOW), fit("wax", ReadAs.BELOW, reason="one score only")],
        n_scores=40,
        **(told if full else none),
    )
    first = "2 samples on 2 notes, from 40 scores"
    last = "wax: one score only"
    assert list(profile_lines(profile)) == (
        [f"{first} by 2026-03-01.", "Two parts.", "Left out: 3 void.", last]
        if full
        else [f"{first}.", last]
    )


class Out(io.BytesIO):
    """What a helper writes its answers to."""

    def close(self) -> None:
        """Stay readable."""


def test_a_helper_fits_what_comes_until_nothing_does(monkeypatch: pytest.MonkeyPatch) -> None:
    out, sent = Out(), io.BytesIO()
    post = pickle.Pickler(sent)
    for column in ("first", "second"):
        post.dump((column, "as asked"))
    sent.seek(0)
    monkeypatch.setattr(worker, "fit_alone", lambda *given: ("fitted", *given))
    monkeypatch.setattr(os, "dup", lambda number: number)
    monkeypatch.setattr(os, "fdopen", lambda _number, _how: out)
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=sent))
    stdout = SimpleNamespace(fileno=lambda: 1)
    monkeypatch.setattr(sys, "stdout", stdout)
    worker.serve()
    assert sys.stdout is sys.stderr, "what others print is no answer"
    out.seek(0)
    answers = [pickle.load(out) for _ in range(2)]
    assert answers == [("fitted", "first", "as asked"), ("fitted", "second", "as asked")]
    assert out.read() == b""


def test_the_sample_of_each_glass_in_points() -> None:
    """Two samples; what is known of them, and how a glass goes with its own."""
    glasses = SimpleNamespace(sample=np.array([0, 0, 1]), assessor=np.array([0, 1, 1]))
    problem: Any = SimpleNamespace(
        layout=SimpleNamespace(meeting=np.array([0, 1, 2]), glasses=glasses)
    )
    now: Any = SimpleNamespace(scale=np.array([1.0, 1.5]), squares=4.0)
    moments: Any = SimpleNamespace(
        tau_variance=np.array([0.5, 2.0]), tau_with_fitted=np.array([0.4, 0.3, 1.0])
    )
    serving: Any = SimpleNamespace(
        tau_variance=np.array([0.3, 0.0]), tau_with_fitted=np.array([0.2, 0.1, 0.0])
    )
    solution: Any = SimpleNamespace(tau=np.array([3.0, -1.0]))
    found = _own_samples(problem, now, moments, serving, solution)
    assert found.code.tolist() == [0, 0, 1]
    assert found.scale.tolist() == [1.0, 1.5, 1.5]
    assert found.mean.tolist() == [3.0, -1.0]
    assert found.variance == pytest.approx([4.0 * 0.8, 4.0 * 2.0])
    assert found.along == pytest.approx([0.6 / 0.8, 0.4 / 0.8, 0.5])


def test_where_everybody_stands_beside_the_panel() -> None:
    """Two people of two and one blocks; what the order is unsure of moves their places too."""
    lay = SimpleNamespace(
        block_assessor=np.array([0, 0, 1]),
        block_counts=np.array([2.0, 1.0]),
        assessors=[SimpleNamespace(blocks=slice(0, 2)), SimpleNamespace(blocks=slice(2, 3))],
    )
    order = np.array([[0.2], [0.4], [0.1]])
    known = np.array([[0.5, 0.1], [0.1, 0.3]])
    at: Any = SimpleNamespace(
        system=SimpleNamespace(ratios={ASSESSOR: 1.0}, layout=lay),
        problem=SimpleNamespace(n_assessors=2),
        solution=SimpleNamespace(own=np.array([3.0, 5.0, -2.0])),
        serving=SimpleNamespace(own=order),
        moments=SimpleNamespace(offset_covariance=known),
        squares=4.0,
    )
    found, sd = _offsets(at, np.array([0, 1]))
    # Without blocks of their own each has its mean: 4 and -2, about 1.
    assert found == pytest.approx([3.0, -3.0])
    moved = np.array([[0.3], [0.1]])
    whole = known + moved @ moved.T
    beside = np.array([[0.5, -0.5], [-0.5, 0.5]])
    assert sd == pytest.approx(np.sqrt(4.0 * np.diag(beside @ whole @ beside)))
    at.system.ratios = {}
    assert all(np.isnan(part).all() for part in _offsets(at, np.array([0])))


def test_a_profile_without_a_posterior_compares_nothing() -> None:
    for asked in (Profile.compare, Profile.draws):
        bare: Any = SimpleNamespace(posterior=None, descriptors=(), links=())
        with pytest.raises(KeyError, match="holds no posterior"):
            asked(bare, "x", "y")

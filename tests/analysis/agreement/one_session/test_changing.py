"""Which samples change places, and what stands where one was not there."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.agreement import AgreementSettings
from analysis.agreement.one_session.changing import shared
from analysis.agreement.one_session.with_panel import Told, reads_with

SETTINGS = AgreementSettings(permutations=499)
CASKS = tuple("abcdefghijkl")
TRUE = dict(zip(CASKS, np.linspace(10.0, 80.0, len(CASKS)), strict=True))
RING = [tuple(CASKS[(at * 5 + step) % 12] for step in range(5)) for at in range(12)]
"""Each cask in five of twelve sessions, and no two in the same five."""


def evening(samples: tuple[str, ...], level: float = 0.0, note: str = "pear") -> Told:
    """Somebody 3 points off now and then, beside others on a level of their own."""
    others = np.array([TRUE[name] for name in samples])
    off = 3.0 * (-1.0) ** np.arange(len(samples))
    return Told(samples, others + off, others + level, 4.0, 7, 50.0, note=note)


def test_casks_that_come_by_turns_leave_orders_to_change() -> None:
    """None has the sessions of another; by these alone a person of correlation .99 is not sure."""
    found = reads_with([[evening(samples)] for samples in RING], SETTINGS)
    assert found.passed
    assert found.p is not None
    assert found.p < 0.01
    unnamed = reads_with([[evening(samples, note="")] for samples in RING], SETTINGS)
    assert unnamed.correlation == found.correlation
    assert unnamed.p == 1.0


def test_what_was_not_there_is_told_from_other_sessions() -> None:
    """Others on another level each evening: a cask stands where it truly does, by hand."""
    sessions = [[evening(samples, 7.0 * at)] for at, samples in enumerate(RING[:5])]
    table, _ = shared(sessions)
    came = list(dict.fromkeys(name for notes in sessions for name in sorted(notes[0].samples)))
    by_hand = np.zeros((len(came), len(came)))
    for (note,) in sessions:
        there = [came.index(name) for name in note.samples]
        true = np.array([TRUE[name] for name in came])
        centred = true - true[there].mean()
        own = note.own - note.own.mean()
        lengths = np.linalg.norm(centred[there]) * np.linalg.norm(own)
        by_hand[:, there] += np.outer(centred, own) / lengths
    assert table == pytest.approx(by_hand)


def test_a_reference_does_not_change_places_with_what_comes_by_turns() -> None:
    sessions = [[evening(("a", *part))] for part in ("bcd", "bef", "ceg", "dfg")]
    _, classes = shared(sessions)
    assert sorted(len(part) for part in classes) == [1, 6]


def test_samples_of_one_session_keep_to_it() -> None:
    sessions = [[evening(("a", *part))] for part in ("bcd", "efg")]
    _, classes = shared(sessions)
    assert sorted(len(part) for part in classes) == [1, 3, 3]


def test_samples_without_a_sample_in_common_keep_apart() -> None:
    sessions = [[evening(tuple(part))] for part in ("abc", "abc", "def", "def")]
    _, classes = shared(sessions)
    assert [len(part) for part in classes] == [3, 3]

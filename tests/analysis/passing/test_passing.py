"""What a passing session and many mornings come to, from glasses of which the truth is known."""

from __future__ import annotations

from datetime import date, timedelta

import pandas as pd
import pytest

from analysis.errors import FrameError
from analysis.passing import FamilyWord, PassState, mornings_found, passing_found, true_share
from analysis.passing.morning import COLUMNS
from analysis.passing.mornings import months_before

DAY = date(2026, 3, 2)


def glass(
    nose: str,
    sample: str,
    faults: str = "",
    *,
    why: str = "cask",
    day: date = DAY,
    replicate: int = 1,
    status: str = "kept",
) -> tuple[object, ...]:
    family = sample if why == "spike" else ""
    cask = sample if why == "cask" else ""
    return (
        *(f"m{day}", pd.Timestamp(day), nose, 1, sample, cask, replicate),
        *(why, family, bool(faults), faults, status),
    )


def frame(*glasses: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(list(glasses), columns=list(COLUMNS)).astype({"held": bool})


def spikes(caught: int, of: int, nose: str = "A1") -> list[tuple[object, ...]]:
    return [glass(nose, "sulphur", "sulphur" * (n < caught), why="spike") for n in range(of)]


def sound(stopped: int, of: int, nose: str = "A1") -> list[tuple[object, ...]]:
    return [glass(nose, "K", "other" * (n < stopped), why="sound") for n in range(of)]


def test_the_answer_says_what_was_asked_for() -> None:
    casks = [glass("A1", f"C{n:02}", "rubber" * (n < 3)) for n in range(57)]
    twice = [glass(nose, f"H{n}", "soapy") for n in range(3) for nose in ("A1", "A2")]
    found = passing_found(frame(*casks, *twice, *spikes(5, 6), *sound(1, 6)))
    assert found.sentences[0] == "54 passed, 3 to nose again, 3 held."
    assert found.sentences[1] == (
        "A1 caught 5 of 6 planted faults (36 to 100 in 100), 5 by the right name, and stopped 1 of "
        "6 known-sound (0 to 64 in 100)."
    )
    assert found.sentences[2] == "A2 met no planted fault and met no known-sound glass."
    assert found.sentences[-1].startswith("What was planted is not counted among the casks")
    assert len(found.casks) == 60
    (block, _) = found.blocks
    assert (block.passed, block.held, block.caught, block.stopped) == (54, 6, 5, 1)


def test_a_planted_fault_caught_under_another_name_is_told_apart() -> None:
    named = ("sulphur", "solvent", "rubber, sulphur")
    rows = [glass("A1", "sulphur", each, why="spike") for each in named]
    (nose,) = passing_found(frame(glass("A1", "C1"), *rows)).noses
    assert (nose.caught.hits, nose.named) == (3, 2)
    found = mornings_found(frame(*rows, *sound(0, 1)), ["sulphur"], until=DAY)
    assert found.families[0].named == 2
    assert any("caught 3 of 3" in one and "2 by the right name" in one for one in found.sentences)


def test_a_known_sound_sample_stopped_each_time_is_named() -> None:
    said = "K, poured as known sound, was stopped 5 of 5: nose it as any other before it is taken"
    cask = glass("A1", "C1")
    always, once = (
        passing_found(frame(cask, *sound(5, 5))),
        passing_found(frame(cask, *sound(1, 1))),
    )
    assert any(one.startswith(said) for one in always.sentences)
    assert [(one.stopped, one.of) for one in always.sound] == [(5, 5)]
    mostly = passing_found(frame(cask, *sound(4, 5)))
    assert not any("poured as known sound" in s for f in (once, mostly) for s in f.sentences)


def test_a_hold_before_counts_as_another_nose() -> None:
    glasses = frame(glass("A2", "C1", "rubber"), glass("A2", "C2"), glass("A2", "C3", "solvent"))
    found = passing_found(glasses, held_before={"C1": 1, "C2": 1})
    states = {cask.cask: cask.state for cask in found.casks}
    assert states == {"C1": PassState.HELD, "C2": PassState.PASSED, "C3": PassState.AGAIN}


def test_repeats_and_a_nose_that_had_seen_the_key() -> None:
    again = [glass("A1", "C1"), glass("A1", "C1", "soapy", replicate=2)]
    alike = [glass("A1", "C2"), glass("A1", "C2", replicate=2)]
    knew = [glass("A3", "sulphur", "sulphur", why="spike", status="knew_key")]
    found = passing_found(frame(*again, *alike, *knew))
    first, third = found.noses
    assert (first.repeated.hits, first.repeated.of) == (1, 2)
    assert third.left_out is not None
    assert third.caught.of == 0


def test_what_is_no_frame_of_passing_is_refused() -> None:
    with pytest.raises(FrameError, match="lacks block"):
        passing_found(frame(glass("A1", "C1")).drop(columns="block"))
    with pytest.raises(FrameError, match="there_for is 'odd'"):
        passing_found(frame(glass("A1", "C1", why="odd")))
    with pytest.raises(FrameError, match="2 sessions"):
        passing_found(frame(glass("A1", "C1"), glass("A1", "C1", day=DAY + timedelta(days=1))))


def mornings(count: int) -> pd.DataFrame:
    rows = []
    for n in range(count):
        day = DAY + timedelta(days=7 * n)
        rows += [glass("A1", f"C{n}-{c}", "soapy" * (c < 12), day=day) for c in range(60)]
        rows += [glass("A1", "sulphur", "sulphur", why="spike", day=day) for _ in range(4)]
        rows += [glass("A1", "rubber", "other" * (n == 0), why="spike", day=day)]
        rows += [glass("A1", "K", "other" * (k == n == 0), why="sound", day=day) for k in range(9)]
    return frame(*rows)


def test_the_share_of_true_holds_waits_for_ten_mornings() -> None:
    until = DAY + timedelta(days=364)
    few = mornings_found(mornings(9), ["sulphur"], until=until)
    assert few.true_holds.low is None
    assert any("10 mornings or more; there are 9" in s for s in few.sentences)
    enough = mornings_found(mornings(10), ["sulphur"], until=until).true_holds
    assert enough.low is not None
    assert enough.high is not None
    assert 0.0 < enough.low < enough.high <= 1.0
    assert enough.held == 120


def test_a_family_not_caught_in_twelve_months_is_not_shown() -> None:
    families = ["sulphur", "rubber", "solvent"]
    last = DAY + timedelta(days=63)
    found = mornings_found(mornings(10), families, until=last)
    assert [family.word for family in found.families] == [
        FamilyWord.SHOWN,
        FamilyWord.NOT_SHOWN,  # once in ten, as often as sound ones
        FamilyWord.NOT_SHOWN,  # never planted
    ]
    later = mornings_found(mornings(10), families, until=last + timedelta(days=366))
    assert {family.word for family in later.families} == {FamilyWord.NOT_SHOWN}
    assert later.noses == found.noses


def test_bounds_of_true_holds_enclose_what_they_come_from() -> None:
    held, stopped, caught = (120, 2000), (30, 1000), (450, 500)
    low, high = true_share(held, stopped, caught)
    h, f, c = 0.06, 0.03, 0.9
    assert low < 1.0 - (c - h) / (c - f) * f / h < high
    assert true_share((5, 1000), (40, 1000), (9, 10))[0] == 0.0


def test_the_same_day_so_many_months_before() -> None:
    assert months_before(date(2024, 2, 29), 12) == date(2023, 2, 28)

"""The quick way with very many rows says what the plain way says, of any frame."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields
from datetime import date, datetime
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.errors import AnalysisError
from analysis.frame_check import DEFAULTS, KINDS, REQUIRED, STATUSES
from analysis.frames import check_scores, on_house_scale, usable
from analysis.profile.table import about_samples, tabulate
from tests.analysis.plain_frames import (
    plain_about,
    plain_check,
    plain_house_scale,
    plain_table,
    plain_usable,
)
from tests.examples import examples

often = settings(
    max_examples=examples(60),
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)

WORDS = ("x", "y", "SW0412", "[/x]", "7")
NAMES = ("str", "object", "category", "string")
WHOLE = ("int64", "Int64", "category", "object", "uint8")
FLOATS = ("float64", "object", "Float64", "float32")
DAYS = ("object", "datetime64[s]", "datetime64[ns]", "datetime64[us, UTC]", "category")

Values = tuple[Any, ...]
Choice = tuple[tuple[Values, tuple[str, ...]], ...]
TEXT: Choice = ((WORDS, NAMES), ((1, 2, 3), WHOLE))
LOOSE_TEXT: Choice = (((*WORDS, None), NAMES), ((1, 2), WHOLE), ((None,), NAMES))
TIME: Choice = (
    ((date(2026, 3, 2), datetime(2026, 3, 1, 9), None), DAYS),
    (("2026-03-01", "2026-03-05T10:00", None), ("str", "object")),
)
USUAL: Mapping[str, Choice] = {
    **dict.fromkeys(("session", "assessor", "sample", "descriptor"), TEXT),
    **dict.fromkeys(("draw", "filling", "cask", "batch"), LOOSE_TEXT),
    **dict.fromkeys(("held_on", "drawn_on"), TIME),
    **dict.fromkeys(("replicate", "flight"), (((1, 2, 3), (*WHOLE, *FLOATS)),)),
    **dict.fromkeys(("position", "descriptor_version"), (((1, 2, 3), (*WHOLE, *FLOATS)),)),
    "kind": ((KINDS, NAMES),),
    "status": ((STATUSES, NAMES),),
    "score": (((0.0, 7.5, 33.3, 100.0, None), FLOATS), ((0, 12, 100), WHOLE)),
    "age_years": (((12.0, 3.5, None), FLOATS),),
    "scale_low": (((0.0,), FLOATS), ((0, -5), WHOLE)),
    "scale_high": (((100.0,), FLOATS), ((100, 150), WHOLE)),
}
ODD: Mapping[str, tuple[Values, tuple[str, ...]]] = {
    **dict.fromkeys(
        ("session", "assessor", "sample", "descriptor", "kind", "status", "draw", "cask"),
        (("x", "1", "nan", 1, 1.0, True, 0.0, -0.0, date(2026, 3, 1), None, np.nan, pd.NA), NAMES),
    ),
    **dict.fromkeys(
        ("replicate", "score", "position", "age_years", "scale_low", "scale_high"),
        ((1, 1.5, "2", "two", True, None, np.inf, -np.inf, np.nan, 2**53 + 1, 101.0), FLOATS),
    ),
    **dict.fromkeys(
        ("held_on", "drawn_on"),
        (("the 34th of May", 17, pd.NaT, "2026-03-01T00:00+02:00", "2026-3-1", np.nan), DAYS),
    ),
}


def column(values: list[Any], dtype: str) -> pd.Series:
    """A column of a dtype, or of whatever holds the values."""
    try:
        return pd.Series(values, dtype=dtype)
    except (TypeError, ValueError, OverflowError):
        return pd.Series(values, dtype="object")


@st.composite
def frames(draw: st.DrawFn, most_odd: int = 2, *, apart: bool = False) -> pd.DataFrame:
    """Small frames in which few columns hold anything, and many a column is left out."""
    n = draw(st.integers(0, 9))
    optional = draw(st.sets(st.sampled_from(sorted(DEFAULTS))))
    odd = draw(st.sets(st.sampled_from(sorted(ODD)), max_size=most_odd))
    lost = draw(st.sets(st.sampled_from(REQUIRED), max_size=2)) if n == 3 and odd else set()
    made = {}
    for name in draw(st.permutations([*REQUIRED, *sorted(optional)])):
        values, dtypes = ODD[name] if name in odd else draw(st.sampled_from(USUAL[name]))
        cells = draw(st.lists(st.sampled_from(values), min_size=n, max_size=n))
        made[name] = column(cells, draw(st.sampled_from(dtypes)))
    if apart or draw(st.booleans()):
        made["replicate"] = pd.Series(np.arange(n) + 1)
    frame = pd.DataFrame({name: made[name] for name in made if name not in lost})
    frame.index = pd.Index(draw(st.permutations(range(10, 10 + n))), dtype="int64")
    return frame


def outcome(ask: Callable[[], Any]) -> Any:
    """What is answered, or what is refused in which words."""
    try:
        return ask()
    except (AnalysisError, TypeError, ValueError, OverflowError, Warning) as fault:
        return type(fault), str(fault)


def alike(found: Any, plain: Any) -> None:
    """Fail where two answers or refusals differ."""
    assert type(found) is type(plain), (found, plain)
    if isinstance(plain, pd.DataFrame):
        pd.testing.assert_frame_equal(found, plain, check_exact=True)
    else:
        assert found == plain


@pytest.mark.slow
@often
@given(frame=frames())
def test_a_frame_is_checked_as_row_by_row(frame: pd.DataFrame) -> None:
    before = frame.copy()
    alike(outcome(lambda: check_scores(frame)), outcome(lambda: plain_check(frame)))
    pd.testing.assert_frame_equal(frame, before)


@pytest.mark.slow
@often
@given(
    frame=frames(1),
    keep=st.lists(st.sampled_from(STATUSES)),
    kinds=st.lists(st.sampled_from(KINDS)),
)
def test_what_is_left_out_is_what_rows_say(
    frame: pd.DataFrame, keep: list[str], kinds: list[str]
) -> None:
    plain = outcome(lambda: plain_usable(frame, keep, kinds))
    found = outcome(lambda: usable(frame, keep=keep, kinds=kinds))
    if isinstance(plain[0], type):
        assert found == plain
        return
    alike(found.scores, plain[0])
    alike(found.blanks, plain[1])
    assert list(found.left_out.items()) == list(plain[2].items())
    alike(on_house_scale(found.scores), plain_house_scale(plain[0]))


@often
@given(frame=frames(0, apart=True), as_of=st.none() | st.just(date(2026, 3, 1)))
def test_the_table_is_the_one_of_the_rows(frame: pd.DataFrame, as_of: date | None) -> None:
    used = usable(frame)
    scores = used.scores
    if as_of is not None:
        used = used.until(as_of)
        scores = scores[~(scores["held_on"] > pd.Timestamp(as_of))]
    assert used.n_used == len(scores)
    if scores.empty:
        return
    plain = outcome(lambda: plain_about(scores))
    alike(outcome(lambda: about_samples(used.scores, used.codes)), plain)
    if isinstance(plain, tuple):
        return
    found, laid = (
        tabulate(on_house_scale(used.scores), used.codes),
        plain_table(plain_house_scale(scores)),
    )
    for part in fields(laid):
        wanted = getattr(laid, part.name)
        if part.name == "order":
            np.testing.assert_allclose(found.order, wanted, atol=1e-9)
        else:
            np.testing.assert_array_equal(getattr(found, part.name), wanted)


def test_what_was_given_and_what_is_answered_are_two_frames() -> None:
    scores = np.arange(4.0)
    given_frame = check_scores(
        pd.DataFrame({name: ["1", "2", "3", "4"] for name in REQUIRED}).assign(score=scores)
    )
    used = usable(given_frame)
    scaled = on_house_scale(used.scores)
    for changed, frame in ((0, scaled), (1, used.scores), (2, given_frame)):
        frame.loc[changed, "sample"] = "changed"
        frame.loc[changed, "score"] = 50.0
    for changed, frame in ((2, given_frame), (1, used.scores), (0, scaled)):
        assert np.flatnonzero(frame["sample"] == "changed").tolist() == [changed]
        assert np.flatnonzero(frame["score"] == 50.0).tolist() == [changed]

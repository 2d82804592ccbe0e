"""Names and glasses as numbers."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.frame_columns import NameCodes, as_text, distinct, number, number_glasses
from tests.examples import examples

often = settings(max_examples=examples(100), deadline=None, derandomize=True)


@often
@given(
    keys=st.lists(st.integers(0, 20), min_size=1, max_size=30), room=st.sampled_from([1, 40, 10**9])
)
def test_keys_keep_their_order_and_lose_their_gaps(keys: list[int], room: int) -> None:
    given_keys = np.array(keys, dtype=np.intp)
    found, count = number(given_keys, 20 + room)
    ranks = sorted(set(keys))
    assert found.tolist() == [ranks.index(key) for key in keys]
    assert count == len(ranks)
    assert distinct(given_keys, 20 + room).tolist() == ranks


@often
@given(
    rows=st.lists(
        st.tuples(
            st.integers(0, 2), st.integers(0, 40), st.sampled_from([1, 2, -3, 10**12, -(2**62)])
        ),
        max_size=25,
    ),
    more=st.sampled_from([0, 10**6]),
)
def test_glasses_are_numbered_in_the_order_of_their_names(
    rows: list[tuple[int, int, int]], more: int
) -> None:
    columns = [
        NameCodes(
            np.array([row[i] for row in rows], dtype=np.intp), np.empty(41 + more, dtype=object)
        )
        for i in (0, 1)
    ]
    found = number_glasses(columns, np.array([row[2] for row in rows], dtype=np.int64))
    ranks = sorted(set(rows))
    assert found.tolist() == [ranks.index(row) for row in rows]


@pytest.mark.parametrize(
    ("cells", "names", "codes"),
    [
        (["b", "a", "b"], ["a", "b"], [1, 0, 1]),
        (["b", None, "b"], ["b"], [0, -1, 0]),
        ([10, 9, 10], ["10", "9"], [0, 1, 0]),
        ([1, True, 1.0, "1"], ["1", "1.0", "True"], [0, 2, 1, 0]),
        (pd.Categorical(["b", None, "a"], ["b", "c", "a"]), ["a", "b", "c"], [1, -1, 0]),
        (pd.Categorical([1, "1", 2]), ["1", "2"], [0, 0, 1]),
        (pd.array([3, None, 20], dtype="Int64"), ["20", "3"], [1, -1, 0]),
    ],
)
def test_names_are_read_as_text(cells: Any, names: list[str], codes: list[int]) -> None:
    text, found = as_text(pd.Series(cells))
    assert found.names.tolist() == names
    assert found.codes.tolist() == codes
    assert [name for name in text if isinstance(name, str)] == [names[i] for i in codes if i >= 0]


def test_a_name_in_no_row_is_dropped_and_the_order_stays() -> None:
    found = NameCodes(np.array([3, 1, 3]), np.array(["a", "b", "c", "d"], dtype=object))
    assert found.used.tolist() == [1, 3]
    assert found.without_gaps().names.tolist() == ["b", "d"]
    assert found.without_gaps().codes.tolist() == [1, 0, 1]

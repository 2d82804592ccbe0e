"""Results as plain values: every kind of value, and the shapes that a class may ask for."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import UTC, date, datetime
from enum import Enum
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.as_json import AsJson, Json, as_json


class Wood(Enum):
    OAK = "European oak"


@dataclass(frozen=True)
class Part:
    cask: str
    litres: float


@dataclass(frozen=True)
class Blend(AsJson):
    parts: tuple[Part, ...]
    first: Part
    bottles: int

    json_keys = (("bottles", "n_bottles"), "parts", ("first", "**"), "litres")

    @property
    def litres(self) -> float:
        return sum(part.litres for part in self.parts)


@dataclass(frozen=True)
class Curve:
    make: str
    fill: int

    json_also = ("style",)

    @property
    def style(self) -> str:
        return f"{self.make}, fill {self.fill}"


@dataclass(frozen=True)
class Sealed(AsJson):
    open_part: str
    hidden: str

    def to_dict(self) -> Json:
        found = super().to_dict()
        found.pop("hidden")
        return found


@pytest.mark.parametrize(
    ("value", "plain"),
    [
        (None, None),
        (True, True),
        (np.bool_(False), False),
        (7, 7),
        (np.int64(7), 7),
        (0.1, 0.1),
        (np.float32(0.5), 0.5),
        (float("nan"), None),
        (np.float64("inf"), None),
        (date(2031, 4, 2), "2031-04-02"),
        (datetime(2031, 4, 2, 9, 30, tzinfo=UTC), "2031-04-02T09:30:00+00:00"),
        (Wood.OAK, "European oak"),
        (Path("a/b"), "a/b"),
        (np.array([[1.0, math.nan]]), [[1.0, None]]),
        ({Wood.OAK: (1, 2), 3: []}, {"European oak": [1, 2], "3": []}),
    ],
)
def test_a_value_becomes_what_json_can_hold(value: object, plain: object) -> None:
    found = as_json(value)
    assert found == plain
    assert type(found) is type(plain)


def test_a_frame_becomes_its_rows() -> None:
    frame = pd.DataFrame(
        {
            "cask": ["C1", None],
            "on": [pd.Timestamp("2031-04-02"), pd.NaT],
            "n": pd.array([1, None], dtype="Int64"),
            "estimate": [40.5, math.nan],
        }
    )
    assert as_json(frame) == [
        {"cask": "C1", "on": "2031-04-02", "n": 1, "estimate": 40.5},
        {"cask": None, "on": None, "n": None, "estimate": None},
    ]


def test_a_dataclass_stands_field_by_field() -> None:
    assert as_json(Part("C1", 12.5)) == {"cask": "C1", "litres": 12.5}
    assert list(as_json(Curve("Peat Weir", 2))) == ["make", "fill", "style"]


def test_a_class_names_its_keys_and_their_order() -> None:
    blend = Blend((Part("C1", 12.5), Part("C2", 7.5)), Part("C1", 12.5), 25)
    assert json.dumps(blend.to_dict()) == (
        '{"n_bottles": 25, "parts": [{"cask": "C1", "litres": 12.5}, '
        '{"cask": "C2", "litres": 7.5}], "cask": "C1", "litres": 20.0}'
    )


def test_what_a_class_holds_back_stays_back_inside_another() -> None:
    assert as_json({"notes": [Sealed("all may read", "nobody may")]}) == {
        "notes": [{"open_part": "all may read"}]
    }


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text() | st.dates(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner) | st.tuples(inner, inner),
    max_leaves=20,
)


@given(VALUES)
def test_anything_can_be_written_and_comes_back(value: Any) -> None:
    plain = as_json(value)
    assert json.loads(json.dumps(plain, allow_nan=False)) == plain
    assert as_json(plain) == plain

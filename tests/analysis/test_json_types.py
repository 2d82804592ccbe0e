"""Schemas made from types: what the walk over values writes is what the walk over types says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Annotated, Any, Literal, NotRequired, TypedDict

import numpy as np
import pandas as pd
import pytest
from jsonschema import Draft202012Validator

from analysis.as_json import AsJson, Json, as_json
from analysis.json_types import Kept, SchemaWalk


class Wood(StrEnum):
    OAK = "European oak"
    CHESTNUT = "chestnut"


@dataclass(frozen=True)
class Said:
    """A word with its sentence."""

    word: Wood

    beside_types = (("", str), ("sentence", str))

    def beside(self, name: str) -> dict[str, str]:
        return {name: self.word.value, "sentence": f"It is {self.word.value}."}


@dataclass(frozen=True)
class Place:
    site: str
    row: int | None = None


class Row(TypedDict):
    cask: str
    estimate: float | None
    note: NotRequired[str]


@dataclass(frozen=True)
class Cask(AsJson):
    """A cask.

    Attributes
    ----------
    number
        As it stands on the head.
    litres, lpa
        At 20 °C.
    """

    number: str
    litres: float
    lpa: float | None
    filled_on: date
    verdict: Said
    place: Place
    shares: Mapping[Wood, float]
    rows: Annotated[pd.DataFrame, Row]
    kept: Annotated[dict[str, Any], Kept(Place)]
    ends: tuple[float, float]
    step: Literal["open", "closed"] = "open"

    json_keys = (
        *("number", "litres", "lpa", "filled_on", "verdict", ("place", "**"), "shares", "rows"),
        *("kept", "ends", "step", "old", ("untold", "age")),
    )
    untold = None

    @property
    def old(self) -> bool:
        """Whether it is old."""
        return True


@dataclass(frozen=True)
class Full:
    found: Literal[True]
    litres: float


@dataclass(frozen=True)
class Empty:
    found: Literal[False]
    reason: str


@dataclass(frozen=True)
class Answer:
    what: Full | Empty

    json_keys = (("what", "**"),)


@dataclass(frozen=True)
class Shy(AsJson):
    code: str
    health: str

    json_sometimes = ("health",)

    def to_dict(self, *, private: bool = False) -> Json:
        found = super().to_dict()
        return found if private else {"code": found["code"]}


@dataclass(frozen=True)
class Silent(AsJson):
    code: str

    def to_dict(self) -> Json:
        return {"name": self.code}


def schema_of(kind: Any) -> Json:
    walk = SchemaWalk()
    found = walk.object_of(kind)
    schema = {**found, "$defs": walk.definitions}
    Draft202012Validator.check_schema(schema)
    return schema


def holds(kind: Any, document: Any) -> bool:
    return Draft202012Validator(schema_of(kind)).is_valid(document)


def cask(**other: Any) -> Json:
    rows = pd.DataFrame({"cask": ["C1"], "estimate": [np.nan]})
    place = Place("Sallow Weir")
    value = Cask(
        *("C1", 200.0, None, date(2031, 4, 2), Said(Wood.OAK), place, {Wood.OAK: 1.0}),
        *(rows, {"site": "Reed"}, (1.0, 2.0)),
    )
    return {**as_json(value), **other}


def test_what_a_value_becomes_is_what_its_type_says() -> None:
    found = schema_of(Cask)
    assert list(found["properties"]) == list(cask())
    assert found["required"] == list(cask())
    assert holds(Cask, cask())


@pytest.mark.parametrize(
    "wrong",
    [
        {"litres": None},
        {"lpa": "none"},
        {"ends": [1.0]},
        {"ends": [1.0, 2.0, 3.0]},
        {"step": "ajar"},
        {"sentence": None},
        {"age": 12},
        {"rows": [{"cask": "C1"}]},
        {"kept": {"site": 3}},
        {"shares": {"chestnut": "half"}},
    ],
)
def test_what_a_type_forbids_is_found(wrong: Json) -> None:
    assert not holds(Cask, cask(**wrong))


def test_of_what_an_earlier_version_kept_keys_may_lack() -> None:
    assert holds(Cask, cask(kept={}))
    assert holds(Cask, cask(kept={"row": None}))


def test_what_is_said_of_an_attribute_goes_with_it() -> None:
    told = schema_of(Cask)["properties"]
    assert told["number"]["description"] == "As it stands on the head."
    assert told["litres"]["description"] == told["lpa"]["description"] == "At 20 °C."
    assert told["old"]["description"] == "Whether it is old."
    assert schema_of(Cask)["description"] == "A cask."


def test_an_enum_is_told_by_its_values() -> None:
    assert SchemaWalk().of(Wood) == {"enum": ["European oak", "chestnut"]}
    assert SchemaWalk().of(float | None) == {"type": ["number", "null"]}


def test_an_answer_that_is_one_of_two_has_two_shapes() -> None:
    assert holds(Answer, as_json(Answer(Full(True, 3.0))))
    assert holds(Answer, as_json(Answer(Empty(False, "leaks"))))
    assert not holds(Answer, {"found": True, "reason": "leaks"})


def test_a_key_that_is_asked_for_may_lack() -> None:
    assert holds(Shy, Shy("AA", "cold").to_dict())
    assert holds(Shy, Shy("AA", "cold").to_dict(private=True))
    assert not holds(Shy, {"health": "cold"})


@pytest.mark.parametrize("kind", [Silent, np.ndarray, pd.DataFrame])
def test_a_type_that_does_not_say_what_it_becomes_is_refused(kind: Any) -> None:
    with pytest.raises(TypeError, match=r"does not say|no json_sometimes"):
        SchemaWalk().of(kind)

"""Every class that an answer may hold is on the list of what may be kept."""

from __future__ import annotations

import collections.abc
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from enum import Enum
from importlib import import_module
from typing import Any, get_args

import pytest

from analysis.ageing import Ageing
from analysis.agreement import Agreement, Span
from analysis.influences import Influences
from analysis.influences.searched import Searched
from analysis.next_glasses import NextSession
from analysis.profile import Profile
from analysis.stock_plan import StockPlan
from analysis.target import Match
from analysis.vatting import Limits, NoVatting, VattingPlan
from panel.kept.classes import NAMES, class_named, name_of


def reached(kind: Any, seen: set[type]) -> Iterator[type]:
    """Give the classes that the fields of a class may hold, by their annotations."""
    for part in get_args(kind):
        yield from reached(part, seen)
    if not isinstance(kind, type) or kind in seen:
        return
    seen.add(kind)
    if issubclass(kind, Enum):
        yield kind
    elif is_dataclass(kind):
        yield kind
        for each in fields(kind):
            yield from reached(annotated(kind, each.type), seen)


def annotated(kind: type, said: Any) -> Any:
    """Read an annotation where it stands: no class of an answer is imported for types only."""
    return eval(said, vars(import_module(kind.__module__)) | vars(collections.abc))


@pytest.mark.parametrize(
    "root",
    [
        *(Profile, Influences, Ageing, Agreement, Span, Match, VattingPlan, NoVatting, Limits),
        *(Searched, StockPlan, NextSession),
    ],
)
def test_what_an_answer_may_hold_is_listed(root: type) -> None:
    found = list(reached(root, set()))
    assert len(found) > 2
    assert [each.__qualname__ for each in found if name_of(each) is None] == []


def test_each_listed_class_is_a_frozen_value_or_a_choice() -> None:
    for name in NAMES:
        kind = class_named(name)
        frozen = is_dataclass(kind) and kind.__dataclass_params__.frozen  # type: ignore[attr-defined]
        assert frozen or issubclass(kind, Enum), name

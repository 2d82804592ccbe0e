"""Results as plain values, ready for JSON: one walk over dataclasses for the whole house.

A dataclass becomes an object, field by field in the order they are declared. Where another shape
is wanted, its class says so, so that no field is written down twice:

* ``json_also = ("name", ...)``: properties that follow the fields;
* ``json_keys = ("name", ("name", "key"), ("name", "**"), ...)``: what is told, in this order:
  fields and properties (``"part.name"`` is one of a part), some under another key, some with
  their own keys among those of their owner (of two values under one key the later counts).

A value with a method ``beside`` (a verdict) lays its parts among the keys of its owner itself.

Numbers that are none (not a number, infinite) become null; dates are written as ISO 8601, an enum
by its value, a frame as a list of its rows. Nothing is rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import Enum
from operator import attrgetter
from typing import Any, Protocol, runtime_checkable

Json = dict[str, Any]

SPREAD = "**"


@runtime_checkable
class Beside(Protocol):
    """A value whose parts stand among those of what carries it, under no key of its own."""

    def beside(self, name: str) -> Mapping[str, object]:
        """Keys and values for the field `name`."""


class AsJson:
    """A result that knows how to become plain values."""

    def to_dict(self) -> Json:
        """Plain values, ready for JSON; a quantity without a value is None."""
        return keys_of(self)


def as_json(value: object) -> Any:
    """Turn a value into what JSON can hold.

    Examples
    --------
    >>> as_json({"chance": float("nan"), "on": date(2031, 4, 2), "casks": ("C1", "C2")})
    {'chance': None, 'on': '2031-04-02', 'casks': ['C1', 'C2']}
    """
    if is_dataclass(value) and not isinstance(value, type):
        return value.to_dict() if hasattr(value, "to_dict") else keys_of(value)
    if isinstance(value, Mapping):
        return {str(as_json(key)): as_json(part) for key, part in value.items()}
    if isinstance(value, tuple | list):
        return [as_json(part) for part in value]
    if hasattr(value, "columns") and hasattr(value, "to_dict"):
        return [_record(row) for row in value.to_dict("records")]
    return _single(value)


def keys_of(value: object) -> Json:
    """Return a dataclass as an object of its keys, in the shape its class declares."""
    return dict(_pairs(value))


def _pairs(value: Any) -> Iterator[tuple[str, Any]]:
    for attribute, key in told_keys(type(value)):
        part = attrgetter(attribute)(value)
        if isinstance(part, Beside):
            yield from as_json(part.beside(key)).items()
        elif key == SPREAD:
            yield from as_json(part).items()
        else:
            yield key, as_json(part)


def told_keys(kind: Any) -> tuple[tuple[str, str], ...]:
    """Return the attributes of a class that are told, each with its key."""
    told: tuple[str | tuple[str, str], ...] = getattr(kind, "json_keys", ()) or (
        *(part.name for part in fields(kind)),
        *getattr(kind, "json_also", ()),
    )
    return tuple((part, part) if isinstance(part, str) else part for part in told)


def _single(value: object) -> Any:
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, Enum):
        return as_json(value.value)
    if isinstance(value, int):
        return int(value)
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, date):
        return value.isoformat()
    # An array or a number of numpy, known by its manners: this module loads nothing heavy.
    return as_json(value.tolist()) if hasattr(value, "tolist") else str(value)


def _record(row: Mapping[Any, Any]) -> Json:
    """One row of a frame; what is missing becomes null, a moment its date."""
    return {str(key): _cell(value) for key, value in row.items()}


def _cell(value: Any) -> Any:
    import pandas as pd

    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return None if value is None or pd.isna(value) else as_json(value)

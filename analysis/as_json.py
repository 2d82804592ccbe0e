"""Results as JSON: plain values, one way for all of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any, Protocol, runtime_checkable

Json = dict[str, Any]


@runtime_checkable
class Beside(Protocol):
    """A value whose parts stand among those of what carries it, under no key of its own."""

    def beside(self, name: str) -> Mapping[str, object]:
        """Keys and values for the field `name`."""


def plain(value: object) -> Any:
    """Turn a value into what JSON can hold; a number that is none becomes null."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, Mapping):
        return {str(key): plain(part) for key, part in value.items()}
    if isinstance(value, tuple | list):
        return [plain(part) for part in value]
    if isinstance(value, int | float):
        return _number(value)
    if is_dataclass(value):
        to_dict = getattr(value, "to_dict", None)
        return parts(value) if to_dict is None else to_dict()
    return str(value)


def _number(value: float) -> float | None:
    if isinstance(value, int):
        return int(value)
    return float(value) if math.isfinite(value) else None


def parts(value: object) -> Json:
    """The fields of a frozen value by name, each plain."""
    if not is_dataclass(value):
        raise TypeError(f"{type(value).__name__} has no fields")
    found: Json = {}
    for each in fields(value):
        part = getattr(value, each.name)
        laid = part.beside(each.name) if isinstance(part, Beside) else {each.name: part}
        found |= {name: plain(one) for name, one in laid.items()}
    return found

"""What plain values a result becomes: the walk of `as_json` the other way, over types.

A dataclass gives a JSON Schema (draft 2020-12) of the object that it is told as, by the same
``json_keys`` and ``json_also``. What types alone do not tell, a class says:

* ``json_sometimes = ("private",)``: keys that are there only where they were asked for;
* ``beside_types = (("", str), ("sentence", str))``: what a value with a method ``beside`` lays
  among the keys of its owner, that under no name under the owner's own key.

A frame is annotated with the type of its rows, a kept document with what it was made of:
``Annotated[pd.DataFrame, EstimateRow]``, ``Annotated[dict[str, Any], Kept(Outcome)]``. Of what
was kept by an earlier version keys may lack.
"""

from __future__ import annotations

import inspect
import types
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, is_dataclass
from datetime import date, datetime
from enum import Enum
from itertools import product
from pathlib import Path
from typing import (
    Annotated,
    Any,
    Literal,
    NotRequired,
    TypeVar,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

from .as_json import SPREAD, AsJson, Json, as_json, told_keys
from .json_hints import (
    Constant,
    hint_of,
    lain_beside,
    may_be_none,
    names_in,
    parts_of,
    said_of,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"
_SINGLE: dict[Any, Json] = {
    Any: {},
    object: {},
    type(None): {"type": "null"},
    bool: {"type": "boolean"},
    int: {"type": "integer"},
    float: {"type": "number"},
    str: {"type": "string"},
    Path: {"type": "string"},
    date: {"type": "string", "format": "date"},
    datetime: {"type": "string", "format": "date-time"},
}
_ROWS = (list, Sequence, Iterable, Iterator)


@dataclass(frozen=True)
class Kept:
    """A document that was kept as plain values of a type, by this version or an earlier one."""

    kind: Any


@dataclass(frozen=True)
class _Keys:
    """Keys of an object with their schemas, and those that are always there."""

    properties: Mapping[str, Json]
    required: tuple[str, ...]
    more: Json | None = None

    def with_keys(self, other: _Keys) -> _Keys:
        """Return both; of two under one key the later counts."""
        return _Keys(
            {**self.properties, **other.properties},
            tuple(dict.fromkeys((*self.required, *other.required))),
            self.more or other.more,
        )

    def schema(self) -> Json:
        """Return the object."""
        found: Json = {"type": "object", "properties": dict(self.properties)}
        if self.required:
            found["required"] = list(self.required)
        return found if self.more is None else {**found, "additionalProperties": self.more}


class SchemaWalk:
    """Walks types; each class is written once, under ``$defs``."""

    def __init__(self) -> None:
        self.definitions: dict[str, Json] = {}
        self._names: dict[Any, str] = {}

    def of(self, hint: Any) -> Json:
        """Return the schema of what a type is told as.

        Raises
        ------
        TypeError
            The type does not say what it becomes.
        """
        if hint in _SINGLE:
            return dict(_SINGLE[hint])
        origin, args = get_origin(hint), get_args(hint)
        if origin is Annotated:
            found = self._annotated(args[0], args[1])
        elif origin is Literal:
            found = {"enum": list(args)}
        elif origin in (Union, types.UnionType):
            found = _any_of([self.of(part) for part in args])
        elif origin is tuple and args[-1:] != (Ellipsis,):
            found = self._row_of(args)
        elif origin is tuple or origin in _ROWS:
            found = {"type": "array", "items": self.of(args[0])}
        elif isinstance(origin, type) and issubclass(origin, Mapping):
            found = {"type": "object", "additionalProperties": self.of(args[1])}
        else:
            found = self._named(origin or hint)
        return found

    def _annotated(self, hint: Any, said: Any) -> Json:
        """Return rows of a frame, or a document that is held as plain values."""
        parts = [get_origin(part) or part for part in parts_of(hint)]
        plain = any(isinstance(part, type) and issubclass(part, Mapping) for part in parts)
        if isinstance(said, Kept):
            found = {k: v for k, v in self.object_of(said.kind).items() if k != "required"}
        else:
            found = self.of(said) if plain else {"type": "array", "items": self.of(said)}
        return _any_of([found, {"type": "null"}]) if may_be_none(hint) else found

    def _row_of(self, args: tuple[Any, ...]) -> Json:
        found: Json = {"type": "array", "maxItems": len(args), "minItems": len(args)}
        return {**found, "prefixItems": [self.of(one) for one in args]} if args else found

    def _named(self, kind: Any) -> Json:
        if isinstance(kind, TypeVar) and kind.__bound__ is not None:
            return self.of(kind.__bound__)
        if isinstance(kind, type) and issubclass(kind, Enum):
            return {"enum": [as_json(one.value) for one in kind]}
        if kind not in self._names:
            if not (is_typeddict(kind) or is_dataclass(kind)):
                raise TypeError(f"{kind!r} does not say what it becomes")
            self._names[kind] = self._free_name(kind)
            self.definitions[self._names[kind]] = self.object_of(kind)
        return {"$ref": f"#/$defs/{self._names[kind]}"}

    def _free_name(self, kind: Any) -> str:
        name = str(kind.__name__).lstrip("_")
        where = str(kind.__module__).rpartition(".")[2]
        return f"{name}.{where}" if name in self._names.values() else name

    def object_of(self, kind: Any) -> Json:
        """Return the object a dataclass or a typed dict is told as, not by reference.

        Raises
        ------
        TypeError
            The class turns itself into plain values, and does not say which keys come.
        """
        shapes = [each.schema() for each in self._shapes(kind)]
        found = shapes[0] if len(shapes) == 1 else {"anyOf": shapes}
        about = (inspect.getdoc(kind) or "").partition("\n\n")[0].replace("\n", " ")
        return {"description": about, **found} if about else found

    def _shapes(self, kind: Any) -> list[_Keys]:
        """Keys in every shape that the object can have: a spread part may be one of several."""
        if is_typeddict(kind):
            return [self._typed_dict(kind)]
        if not is_dataclass(kind):
            raise TypeError(f"{kind!r} does not say which keys it has")
        own = getattr(kind, "to_dict", AsJson.to_dict) is not AsJson.to_dict
        sometimes = getattr(kind, "json_sometimes", None)
        if own and sometimes is None:
            raise TypeError(f"{kind!r} has a to_dict of its own and no json_sometimes")
        told = list(told_keys(kind))
        told += [(name, name) for name in sometimes or () if (name, name) not in told]
        parts = [self._told(kind, attribute, key) for attribute, key in told]
        found = [_joined(each) for each in product(*parts)]
        never_sure = set(sometimes or ())
        return [
            _Keys(one.properties, tuple(k for k in one.required if k not in never_sure), one.more)
            for one in found
        ]

    def _typed_dict(self, kind: Any) -> _Keys:
        hints = get_type_hints(kind, localns=names_in(kind.__module__), include_extras=True)
        bare = {
            name: get_args(hint)[0] if get_origin(hint) is NotRequired else hint
            for name, hint in hints.items()
        }
        always = tuple(name for name, hint in hints.items() if hint is bare[name])
        return _Keys({name: self.of(hint) for name, hint in bare.items()}, always)

    def _told(self, kind: Any, attribute: str, key: str) -> list[_Keys]:
        """What one attribute adds, in each of its shapes."""
        hint = hint_of(kind, attribute)
        if isinstance(hint, Constant):
            return [_Keys({key: _constant(hint.value)}, (key,))]
        if (beside := lain_beside(hint)) is not None:
            return [self._lain_beside(key, beside, sure=not may_be_none(hint))]
        if key == SPREAD:
            return [each for part in parts_of(hint) for each in self._spread(part)]
        about = said_of(kind).get(attribute)
        schema = self.of(hint)
        return [_Keys({key: {"description": about, **schema} if about else schema}, (key,))]

    def _spread(self, hint: Any) -> list[_Keys]:
        if isinstance(get_origin(hint), type) and issubclass(get_origin(hint), Mapping):
            return [_Keys({}, (), self.of(get_args(hint)[1]))]
        kind = get_args(hint)[1] if get_origin(hint) is Annotated else hint
        return self._shapes(get_origin(kind) or kind)

    def _lain_beside(self, key: str, beside: Mapping[str, Any], *, sure: bool) -> _Keys:
        found = {name or key: self.of(hint) for name, hint in beside.items()}
        if not sure:
            found[key] = _any_of([found[key], {"type": "null"}])
        return _Keys(found, tuple(found) if sure else (key,))


def _constant(value: object) -> Json:
    """Return the schema of what a class says without an annotation."""
    if isinstance(value, bool):
        return {"const": value}
    if isinstance(value, Mapping):
        return {"type": "object", "additionalProperties": _any_of(map(_constant, value.values()))}
    if isinstance(value, tuple):
        return {"type": "array", "items": {"type": "string"}} if value else _empty_list()
    return dict(_SINGLE[type(value)])


def _empty_list() -> Json:
    return {"type": "array", "maxItems": 0}


def _joined(parts: Iterable[_Keys]) -> _Keys:
    found = _Keys({}, ())
    for part in parts:
        found = found.with_keys(part)
    return found


def _any_of(schemas: Iterable[Json]) -> Json:
    """Return one schema for several, simple types in one list."""
    different: list[Json] = []
    for one in schemas:
        if one not in different:
            different.append(one)
    if len(different) == 1:
        return different[0]
    simple = [one["type"] for one in different if set(one) == {"type"}]
    if len(simple) == len(different):
        return {"type": simple}
    nullable = {"type": "null"} in different
    rest = [one for one in different if one != {"type": "null"}]
    if nullable and len(rest) == 1 and isinstance(rest[0].get("type"), str):
        return {**rest[0], "type": [rest[0]["type"], "null"]}
    return {"anyOf": different}

"""The form of a kept answer: arrays, and one JSON text that says how they hang together.

An answer is a tree of frozen values. Numbers go into arrays, all else into the text; what is read
back has the same types and the same bits. No code is read from a file: arrays are taken without
pickled objects, and classes by name from one list (`panel.kept.classes`).
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from enum import Enum
from hashlib import sha256
from typing import TYPE_CHECKING, Any, cast

from panel.kept.classes import name_of
from panel.kept.packing import pack, unpack
from panel.kept.put_together import TAG, Reader

if TYPE_CHECKING:
    import numpy as np

PLAIN = (str, bool, int, float, type(None))
FORGED = (RecursionError, OverflowError, IndexError, NotImplementedError)
"""What is raised, beside what stands for damage, by content that this program never wrote."""


class NotKeptError(TypeError):
    """A value that has no form in a kept file."""


def to_bytes(value: object) -> bytes:
    """Return an answer as the content of a file.

    Raises
    ------
    NotKeptError
        Something in it is not on the list of what may be kept.
    """
    writer = _Writer()
    tree = writer.told(value)
    return pack(tree, writer.arrays)


def from_bytes(content: bytes) -> Any:
    """Return the answer that a file holds.

    Raises
    ------
    ValueError, KeyError, TypeError, struct.error
        It is damaged, or holds what may not be kept.
    """
    try:
        tree, arrays = unpack(content)
        return Reader(arrays).value(tree)
    except FORGED as error:
        raise ValueError(f"no kept answer has such content: {error}") from error


def digest_of_value(value: object) -> str:
    """Return a digest of what an answer is reckoned from, to the last bit.

    Raises
    ------
    NotKeptError
        Something in it has no form.
    """
    writer = _Writer(name=_any)
    told = sha256(json.dumps(writer.told(value)).encode())
    for array in writer.arrays.values():
        told.update(f"{array.dtype} {array.shape}".encode())
        told.update(array.tobytes())
    return told.hexdigest()


class _Writer:
    """Puts arrays aside, each once, and tells the rest."""

    def __init__(self, name: Callable[[type], str] | None = None) -> None:
        self.arrays: dict[str, np.ndarray] = {}
        self._name = name or _listed
        self._names: dict[int, str] = {}
        self._held: list[object] = []
        self._tell: dict[type, Callable[[Any], Any]] = {}

    def told(self, value: Any) -> Any:
        """Return a value as JSON has it."""
        kind = type(value)
        if kind in PLAIN:
            return value
        if kind not in self._tell:
            self._tell[kind] = self._way_of(value)
        return self._tell[kind](value)

    def _way_of(self, value: Any) -> Callable[[Any], Any]:
        """Return how values of a kind are told."""
        for kind, tell in self._ways():
            if isinstance(value, kind):
                return cast("Callable[[Any], Any]", tell)
        if is_dataclass(value) and not isinstance(value, type):
            return self._dataclass_way(type(value))
        raise NotKeptError(type(value).__qualname__)

    def _ways(self) -> tuple[tuple[Any, Any], ...]:
        import numpy as np
        import pandas as pd

        return (
            (Enum, self._enum),
            (np.generic, self._scalar),
            (type(pd.NaT), lambda _: {TAG: "nat"}),
            (datetime, lambda each: {TAG: "moment", "v": each.isoformat()}),
            (date, lambda each: {TAG: "day", "v": each.isoformat()}),
            (tuple, lambda each: {TAG: "tuple", "v": self._each(each)}),
            (list, lambda each: {TAG: "list", "v": self._each(each)}),
            ((frozenset, set), self._set),
            (Mapping, self._mapping),
            (np.ndarray, self._array),
            (pd.DataFrame, self._frame),
            (pd.Series, self._series),
            (pd.Index, self._index),
        )

    def _each(self, values: Any) -> list[Any]:
        return [self.told(each) for each in values]

    def _set(self, value: Any) -> Any:
        kind = "frozenset" if isinstance(value, frozenset) else "set"
        return {TAG: kind, "v": self._each(sorted(value, key=str))}

    def _mapping(self, value: Any) -> Any:
        return {TAG: "map", "k": self._each(value.keys()), "v": self._each(value.values())}

    def _dataclass_way(self, kind: type) -> Callable[[Any], Any]:
        names, called = [each.name for each in fields(kind)], self._name(kind)

        def tell(value: Any) -> Any:
            told = {name: self.told(getattr(value, name)) for name in names}
            return {TAG: "value", "c": called, "v": told}

        return tell

    def _enum(self, value: Enum) -> Any:
        return {TAG: "choice", "c": self._name(type(value)), "v": value.name}

    def _scalar(self, value: Any) -> Any:
        return {TAG: "number", "d": str(value.dtype), "v": value.item()}

    def _array(self, value: np.ndarray) -> Any:
        if value.dtype.kind == "O":
            told = [self.told(each) for each in value.ravel().tolist()]
            return {TAG: "objects", "s": list(value.shape), "v": told}
        if id(value) not in self._names:
            self._names[id(value)] = name = f"a{len(self._names)}"
            self._held.append(value)
            self.arrays[name] = value
        return {TAG: "array", "v": self._names[id(value)]}

    def _frame(self, value: Any) -> Any:
        columns = [self._series(value[name]) for name in value.columns]
        return {
            TAG: "frame",
            "n": self._each(value.columns),
            "i": self._index(value.index),
            "v": columns,
        }

    def _index(self, value: Any) -> Any:
        import pandas as pd

        if isinstance(value, pd.RangeIndex):
            bounds = [value.start, value.stop, value.step]
            return {TAG: "range", "v": bounds, "n": self.told(value.name)}
        return {TAG: "index", "v": self._series(value.to_series()), "n": self.told(value.name)}

    def _series(self, value: Any) -> Any:
        """A column without its index: numbers as they are, words once each with their places."""
        import numpy as np

        kind = value.dtype
        if isinstance(kind, np.dtype) and kind.kind != "O":
            return {TAG: "column", "d": str(kind), "v": self._array(value.to_numpy())}
        places: dict[Any, int] = {}
        words: list[Any] = []
        codes = np.empty(len(value), dtype=np.int32)
        for row, each in enumerate(value.tolist()):
            word = (type(each), "nan") if each != each else (type(each), each)  # noqa: PLR0124
            if word not in places:
                places[word] = len(words)
                words.append(self.told(each))
            codes[row] = places[word]
        return {TAG: "words", "d": str(kind), "v": self._array(codes), "w": words}


def _any(kind: type) -> str:
    return f"{kind.__module__}:{kind.__qualname__}"


def _listed(kind: type) -> str:
    name = name_of(kind)
    if name is None:
        raise NotKeptError(kind.__qualname__)
    return name

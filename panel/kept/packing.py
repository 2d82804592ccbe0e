"""Arrays and one JSON tree as the bytes of a file, and back.

Arrays lie one after another as they are in memory, under a head that says of each its type, shape
and place. The library's own form of arrays has its heads read as Python: that is slow where an
answer has hundreds, and while a screen reads a key at the same moment one of the two may fail
(CPython issue 106905, in 3.11.4 to 3.11.7).
"""

from __future__ import annotations

import json
import re
import struct
from collections.abc import Mapping, Sequence
from math import prod
from sys import maxsize
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import numpy as np

_MARK = b"oakkept1"
_HEAD = struct.Struct("<8sQ")
"""The mark, and the length of the text in bytes; whether all is whole the shelf looks after."""
_KINDS = "biufcmMSU"
"""Of types that are numbers, days or words: none is a place in memory."""
_KIND = re.compile(rf"[<>|=][{_KINDS}]\d{{1,9}}(\[\d{{0,9}}[a-zA-Z]+\])?")
"""Such a type as it is written; whatever else is said of a type the library may read as Python."""


def pack(tree: object, arrays: Mapping[str, np.ndarray]) -> bytes:
    """Return a tree that JSON has, and arrays by name, as the content of a file.

    Raises
    ------
    TypeError
        An array is of objects or of fields, or JSON has no form for the tree.
    """
    told, parts, at = [], [], 0
    for name, array in arrays.items():
        if array.dtype.kind not in _KINDS:
            raise TypeError(f"arrays of {array.dtype} have no form")
        order: Literal["C", "F"] = (
            "F" if array.flags.f_contiguous and not array.flags.c_contiguous else "C"
        )
        parts.append(array.tobytes(order=order))
        told.append([name, array.dtype.str, list(array.shape), order, at])
        at += len(parts[-1])
    text = json.dumps({"arrays": told, "tree": tree}, separators=(",", ":")).encode()
    return b"".join((_HEAD.pack(_MARK, len(text)), text, *parts))


def unpack(content: bytes) -> tuple[Any, dict[str, np.ndarray]]:
    """Return the tree and the arrays of a file.

    Raises
    ------
    ValueError, KeyError, TypeError, struct.error
        It is damaged, or not of this form.
    RecursionError
        Its tree is deeper than any that is kept.
    """
    mark, length = _HEAD.unpack_from(content)
    if mark != _MARK:
        raise ValueError("not a kept answer of this form")
    start = _HEAD.size + length
    head = json.loads(content[_HEAD.size : start])
    return head["tree"], {name: _array(content, array, start) for name, *array in head["arrays"]}


def _array(content: bytes, head: Sequence[Any], start: int) -> np.ndarray:
    """Return an array by its type, shape, order and place from *start*: it must lie behind that."""
    import numpy as np

    kind, shape, order, at = head
    if not isinstance(kind, str) or not _KIND.fullmatch(kind):
        raise TypeError(f"arrays of {kind!r} are not read")
    whole = all(isinstance(each, int) and 0 <= each <= maxsize for each in (*shape, at))
    if not whole or order not in ("C", "F"):
        raise ValueError("an array has no such shape, order or place")
    dtype = np.dtype(kind)
    if start + at + dtype.itemsize * prod(shape) > len(content):
        raise ValueError("an array ends behind the file")
    given = np.ndarray(tuple(shape), dtype, buffer=content, offset=start + at, order=order)
    return given.copy(order="K")

"""Arrays and one JSON tree as the bytes of a file, and back.

Arrays lie one after another as they are in memory, under a head that says of each its type, shape
and place. The library's own form of arrays has its heads read as Python: that is slow where an
answer has hundreds, and while a screen reads a key at the same moment one of the two may fail
(CPython issue 106905, in 3.11.4 to 3.11.7).
"""

from __future__ import annotations

import json
import struct
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    import numpy as np

_MARK = b"oakkept1"
_HEAD = struct.Struct("<8sQ")
"""The mark, and the length of the text in bytes; whether all is whole the shelf looks after."""
_KINDS = "biufcmMSU"
"""Of types that are numbers, days or words: none is a place in memory."""


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
    """
    mark, length = _HEAD.unpack_from(content)
    if mark != _MARK:
        raise ValueError("not a kept answer of this form")
    start = _HEAD.size + length
    head = json.loads(content[_HEAD.size : start])
    return head["tree"], {
        name: _array(content, kind, shape, order, start + at)
        for name, kind, shape, order, at in head["arrays"]
    }


def _array(content: bytes, kind: str, shape: list[int], order: Any, at: int) -> np.ndarray:
    import numpy as np

    dtype = np.dtype(kind)
    if dtype.kind not in _KINDS:
        raise TypeError(f"arrays of {dtype} are not read")
    return np.ndarray(tuple(shape), dtype, buffer=content, offset=at, order=order).copy(order="K")

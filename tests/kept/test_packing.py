"""Arrays and a tree as the bytes of a file."""

from __future__ import annotations

import ast
import json
import struct

import numpy as np
import pytest

from panel.kept.form import from_bytes
from panel.kept.packing import pack, unpack


def test_arrays_come_back_bit_for_bit_and_as_they_lay() -> None:
    rng = np.random.default_rng(1)
    square = rng.normal(size=(5, 7))
    arrays = {
        "plain": square,
        "by columns": np.asfortranarray(square),
        "every other": square[:, ::2],
        "none": np.zeros((0, 3)),
        "one": np.array(2.5),
        "odd": np.array([np.nan, -0.0, np.inf]),
        "small": np.arange(3, dtype=np.int8),
        "yes": np.array([True, False]),
        "days": np.array(["2026-11-30", "NaT"], dtype="datetime64[D]"),
        "words": np.array(["heather", "\u00e9"]),
    }
    tree, found = unpack(pack({"a": [1, None]}, arrays))
    assert tree == {"a": [1, None]}
    assert list(found) == list(arrays)
    for name, array in arrays.items():
        assert found[name].dtype == array.dtype
        assert found[name].tobytes() == array.tobytes()
        assert found[name].shape == array.shape
        assert found[name].flags.writeable
    assert found["by columns"].flags.f_contiguous
    assert found["every other"].flags.c_contiguous


@pytest.mark.parametrize("kind", ["O", "V8", [("a", "i4")]])
def test_objects_and_fields_are_neither_written_nor_read(kind: object) -> None:
    with pytest.raises(TypeError, match="have no form"):
        pack({}, {"a": np.zeros(2, dtype=kind)})  # type: ignore[call-overload]


def test_a_file_that_says_it_holds_objects_is_not_read() -> None:
    text = json.dumps({"arrays": [["a", "|O", [1], "C", 0]], "tree": {}}).encode()
    content = struct.pack("<8sQ", b"oakkept1", len(text)) + text + b"\0" * 8
    with pytest.raises(TypeError, match="are not read"):
        unpack(content)


def content_of(arrays: object, tree: object = None, behind: bytes = b"\0" * 64) -> bytes:
    """Return a file as somebody could make it by hand."""
    text = json.dumps({"arrays": arrays, "tree": tree}).encode()
    return struct.pack("<8sQ", b"oakkept1", len(text)) + text + behind


@pytest.mark.parametrize(
    "head",
    [
        *(["<f8", [2], "C", at] for at in (-8, 2**70, 56, None, 0.5)),
        *(["<f8", shape, "C", 0] for shape in ([2**70], [-1], [9], [0, 2**70], [0, 2**62])),
        *([kind, [1], "C", 0] for kind in ("(1,2", "(2,)f8", "f8,f8", "<V8", None, ["f8"], "<f3")),
        ["<f8", [1], "K", 0],
        ["<U999999999", [1], "C", 0],
    ],
    ids=str,
)
def test_what_no_kept_file_says_of_an_array_is_refused(head: list[object]) -> None:
    """Eight bytes before the arrays lies the text: it is not read as numbers."""
    assert unpack(content_of([["a", "<f8", [8], "C", 0]]))[1]["a"].tolist() == [0.0] * 8
    with pytest.raises((ValueError, TypeError)):
        unpack(content_of([["a", *head]]))


@pytest.mark.parametrize("deep", [500, 100_000])
def test_a_tree_deeper_than_any_that_is_kept_is_refused(deep: int) -> None:
    text = b'{"arrays":[],"tree":' + b'{"~":"tuple","v":[' * deep + b"]}" * deep + b"}"
    with pytest.raises(ValueError, match="no kept answer has such content"):
        from_bytes(struct.pack("<8sQ", b"oakkept1", len(text)) + text)


WORDS: dict[str, object] = {"~": "words", "d": "str", "w": ["a"], "v": {"~": "array", "v": "a"}}


@pytest.mark.parametrize(
    "tree",
    [
        *({"~": "number", "d": kind, "v": 1} for kind in ("(1,2", "f8,f8", "(2,)f8", None)),
        *({"~": "column", "d": kind, "v": [1]} for kind in ("(1,2", "f8(")),
        {"~": "column", "d": [], "v": [1]},
        {"~": "number", "d": "int64", "v": 2**70},
        {"~": "column", "d": "int64", "v": [2**70]},
        {**WORDS, "w": []},
        {**WORDS, "v": "x"},
    ],
    ids=str,
)
def test_what_no_kept_file_says_of_a_value_is_refused(tree: object) -> None:
    arrays = [["a", "<i4", [1], "C", 0]]
    assert from_bytes(content_of(arrays, WORDS)).tolist() == ["a"]
    with pytest.raises((ValueError, TypeError, KeyError)):
        from_bytes(content_of(arrays, tree))


@pytest.mark.parametrize(
    "spoil",
    [lambda c: b"PK" + c[2:], lambda c: c[:10], lambda c: c[:-1], lambda c: c[:20] + b"}" + c[21:]],
    ids=["of another form", "cut in the head", "cut in the arrays", "no text"],
)
def test_what_is_damaged_is_refused(spoil: object) -> None:
    content = pack({"a": 1}, {"x": np.arange(4.0)})
    assert callable(spoil)
    with pytest.raises((ValueError, TypeError, KeyError, struct.error)):
        unpack(spoil(content))


def test_nothing_in_it_is_read_as_python(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two threads that read Python at once may both fail, and a screen reads its keys so."""

    def never(*_: object, **__: object) -> None:
        raise AssertionError("read as Python")

    content = pack({}, {"x": np.arange(4.0)})
    monkeypatch.setattr(ast, "parse", never)
    assert unpack(content)[1]["x"].tolist() == [0.0, 1.0, 2.0, 3.0]

"""No code reads a sentence that was written for people: it goes by enums, keys and numbers.

What people read may be reworded at any time. So no method of text is called on it, it is not
compared with a phrase, and a word that an enum holds is nowhere written out as a key.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache

import pytest

from tests.sources import modules_of

FOR_PEOPLE = {"sentence", "said", "reason", "verdict", "note", "words"}
"""Names under which text for people goes about."""
WITH_ENUMS = {"mark", "state", "direction", "factor", "used"}
"""Names under which members of enums go about; text beside them is a slip."""
READS = {
    *("startswith", "endswith", "split", "rsplit", "splitlines", "partition", "rpartition"),
    *("removeprefix", "removesuffix", "find", "rfind", "replace"),
}
SAME_TEXT = {"lower", "upper", "casefold", "strip", "lstrip", "rstrip", "capitalize"}
ALLOWED = {
    ("panel/store/faults.py", "part in said.lower()"): "what the driver of a database says",
    ("panel/words/release_sheet.py", "word in c.note.lower()"): "a descriptor, named by the house",
}


def names_of(node: ast.expr) -> set[str]:
    """Under which names a text goes, whatever letters and blanks are done to it first."""
    match node:
        case ast.Name(id=name) | ast.Attribute(attr=name):
            return {name}
        case ast.Subscript(slice=ast.Constant(value=str(name))):
            return {name}
        case ast.Subscript(value=inner):
            return names_of(inner)
        case ast.Call(func=ast.Attribute(value=inner, attr=done)) if done in SAME_TEXT:
            return names_of(inner)
        case ast.Call(func=ast.Name(id="str"), args=[inner]):
            return names_of(inner)
        case ast.BoolOp(values=values):
            return set().union(*map(names_of, values))
    return set()


def phrases(node: ast.expr) -> set[str]:
    """The texts written out in a constant, or in a collection of constants."""
    match node:
        case ast.Constant(value=str(text)) if text.strip():
            return {text}
        case ast.Tuple(elts=parts) | ast.List(elts=parts) | ast.Set(elts=parts):
            return set().union(*map(phrases, parts))
    return set()


@cache
def enum_words() -> frozenset[str]:
    """Every word of more than one part that an enum of ours holds."""
    found = set()
    for _, tree in sources():
        for node in ast.walk(tree):
            if isinstance(node, ast.ClassDef) and _is_enum(node):
                found |= {
                    text
                    for line in node.body
                    if isinstance(line, ast.Assign)
                    for text in phrases(line.value)
                    if " " in text
                }
    return frozenset(found)


def _is_enum(node: ast.ClassDef) -> bool:
    return any(ast.unparse(base) in {"Enum", "StrEnum"} for base in node.bases)


def sources() -> tuple[tuple[str, ast.Module], ...]:
    return modules_of("analysis") + modules_of("panel")


def read_sentences(tree: ast.Module, words: frozenset[str]) -> Iterator[tuple[int, str]]:
    """Yield line and text of everything that reads what was written for people."""
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Attribute(value=text, attr=done)) if done in READS:
                if names_of(text) & FOR_PEOPLE:
                    yield node.lineno, ast.unparse(node)
            case ast.Compare():
                if _compares(node, words):
                    yield node.lineno, ast.unparse(node)
            case ast.Dict(keys=keys):
                if any(phrases(key) & words for key in keys if key is not None):
                    yield node.lineno, ast.unparse(node)
            case ast.Subscript(slice=key, ctx=ast.Load()) if phrases(key) & words:
                yield node.lineno, ast.unparse(node)
            case ast.MatchValue(value=value) if phrases(value) & words:
                yield value.lineno, ast.unparse(value)


def _compares(node: ast.Compare, words: frozenset[str]) -> bool:
    sides = [node.left, *node.comparators]
    if not any(isinstance(each, ast.Eq | ast.NotEq | ast.In | ast.NotIn) for each in node.ops):
        return False
    written = set().union(*map(phrases, sides))
    named = set().union(*map(names_of, sides))
    if written & words:
        return True
    if written and named & (FOR_PEOPLE | WITH_ENUMS):
        return True
    inside = isinstance(node.ops[0], ast.In | ast.NotIn)
    return inside and bool(names_of(node.comparators[0]) & FOR_PEOPLE) and _is_text(node)


def _is_text(node: ast.Compare) -> bool:
    """Whether something is looked for in text, as letters made small give away."""
    return isinstance(node.comparators[0], ast.Call)


def test_no_code_reads_a_sentence() -> None:
    found = {
        (name, text): line
        for name, tree in sources()
        for line, text in read_sentences(tree, enum_words())
    }
    read = {f"{name}:{line}: {text}" for (name, text), line in found.items()} - {
        f"{name}:{found[name, text]}: {text}" for name, text in ALLOWED if (name, text) in found
    }
    assert read == set()
    assert ALLOWED.keys() <= found.keys()  # what is allowed is still there


@pytest.mark.parametrize(
    "slip",
    [
        'part.sentence.startswith("It is parts of casks")',
        "said.sentence.removesuffix(action)",
        'note.reason.split("; ")',
        '(row["reason"] or "").partition(":")',
        '"short of" in sentence',
        'part.verdict == "safe"',
        'str(result.verdict).lower() != "safe"',
        'person.verdict in {"wider", "narrower"}',
        'word == "safe to act on"',
        '{"safe to act on": "safe"}[word]',
        'counts["too little yet"]',
        "word in plan.note.lower()",
        'point.mark == "beyond"',
        'match word:\n    case "too little yet":\n        pass',
    ],
)
def test_every_way_of_reading_one_is_seen(slip: str) -> None:
    assert list(read_sentences(ast.parse(slip), enum_words()))


@pytest.mark.parametrize(
    "clean",
    [
        "word is PanelWord.SAFE",
        'f"{said}: {action}."',
        'text.partition("=")',
        "reason is None",
        "names[word]",
        'kind == "reference"',
    ],
)
def test_what_reads_none_is_let_pass(clean: str) -> None:
    assert not list(read_sentences(ast.parse(clean), enum_words()))

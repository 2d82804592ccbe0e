"""Faults of one line put into a module: what a slip of the hand makes of a line that decides.

Nothing is made of words: of docstrings, of what a function that returns text does, of what is
said when something is refused.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from functools import partial

OTHER: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
TURNED = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum"}
TURNED |= {"any": "all", "all": "any"}
WEIGHTS = {"compare": 3, "guard": 3, "and or": 3, "yes no": 3, "constant": 2, "least most": 3}
WORDS = {"sentence", "words", "heading", "lines", "title"}


@dataclass(frozen=True)
class Change:
    """One line of a file, and what it becomes; some lines run only while it is imported."""

    path: str
    line: int
    kind: str
    before: str
    after: str
    at_import: bool

    @property
    def weight(self) -> int:
        """How often it is drawn beside the others: what decides before what reckons."""
        return WEIGHTS.get(self.kind, 1)

    @property
    def key(self) -> tuple[str, str, str]:
        """The same change wherever the line stands in its file."""
        return self.path, self.before.strip(), self.after.strip()

    def done_to(self, source: str) -> str:
        """Return the text of the file with this one line changed."""
        lines = source.splitlines(keepends=True)
        lines[self.line - 1] = self.after + "\n"
        return "".join(lines)


def changes_of(path: str, source: str) -> list[Change]:
    """Return every change of one line that can be made to a file, in the order of its lines."""
    lines, tree = source.splitlines(), ast.parse(source)
    called = _lines_of_functions(tree)
    made: dict[tuple[int, str], Change] = {}
    for node, kind, text in _made(tree):
        if node.lineno != node.end_lineno:
            continue
        line = lines[node.lineno - 1].encode()
        after = (line[: node.col_offset] + text.encode() + line[node.end_col_offset :]).decode()
        here = lines[node.lineno - 1]
        change = Change(path, node.lineno, kind, here, after, node.lineno not in called)
        if change.after != change.before and _stands(change, source):
            made.setdefault((change.line, change.after), change)
    return sorted(made.values(), key=lambda change: (change.line, change.after))


def _lines_of_functions(tree: ast.AST) -> set[int]:
    functions = (node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))
    return {
        line
        for node in functions
        for line in range(node.body[0].lineno, (node.end_lineno or node.lineno) + 1)
    }


def _stands(change: Change, source: str) -> bool:
    try:
        ast.parse(change.done_to(source))
    except SyntaxError:
        return False
    return True


def _made(tree: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    for node in _deciding(tree):
        for ways in WAYS:
            yield from ways(node)


def _deciding(node: ast.AST) -> Iterator[ast.AST]:
    """Give the nodes below one that are no words, no types and no decorators."""
    yield node
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "decorator_list"}:
            continue
        for child in value if isinstance(value, list) else [value]:
            if isinstance(child, ast.AST) and not _is_wording(child):
                yield from _deciding(child)


def _is_wording(node: ast.AST) -> bool:
    if isinstance(node, ast.FunctionDef):
        told = ast.unparse(node.returns) if node.returns else ""
        return node.name in WORDS or "str" in told.replace("dict[str", "")
    # That two lists are as long as each other is watched over, and decides nothing.
    is_watch = isinstance(node, ast.keyword) and node.arg == "strict"
    return is_watch or isinstance(node, ast.JoinedStr | ast.Raise)


def _compare(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.Compare):
        for place, op in enumerate(node.ops):
            yield node, "compare", _with(node, partial(_put, place, type(op)))


def _put(place: int, was: type[ast.AST], node: ast.expr) -> None:
    assert isinstance(node, ast.Compare)
    node.ops[place] = OTHER[was]()  # type: ignore[call-overload]


def _with(node: ast.expr, change: Callable[[ast.expr], None]) -> str:
    new = deepcopy(node)
    change(new)
    text = ast.unparse(new)
    return f"({text})" if isinstance(node, ast.BinOp | ast.BoolOp | ast.Compare) else text


def _sum(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.BinOp) and type(node.op) in OTHER and not _is_text(node):
        yield node, "sum", _with(node, _other_op)


def _is_text(node: ast.BinOp) -> bool:
    sides = (node.left, node.right)
    return any(isinstance(side, ast.JoinedStr) or _value(side, str) for side in sides)


def _value(node: ast.AST, kind: type) -> bool:
    return isinstance(node, ast.Constant) and type(node.value) is kind


def _other_op(node: ast.expr) -> None:
    assert isinstance(node, ast.BinOp | ast.BoolOp)
    node.op = OTHER[type(node.op)]()  # type: ignore[assignment]


def _and_or(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.BoolOp):
        yield node, "and or", _with(node, _other_op)


def _constant(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if not isinstance(node, ast.Constant):
        return
    if node.value is True or node.value is False:
        yield node, "yes no", str(not node.value)
    elif isinstance(node.value, int):
        yield node, "constant", str(node.value + 1)
    elif isinstance(node.value, float):
        yield node, "constant", repr(node.value * 1.25 if node.value else 1.0)


def _guard(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.If | ast.IfExp) and ast.unparse(node.test) != "TYPE_CHECKING":
        yield node.test, "guard", "False"
    if isinstance(node, ast.comprehension):
        for test in node.ifs:
            yield test, "guard", "True"


def _turned_answer(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.FunctionDef) and node.returns and ast.unparse(node.returns) == "bool":
        for given in ast.walk(node):
            if isinstance(given, ast.Return) and given.value is not None:
                yield given.value, "yes no", f"not ({ast.unparse(given.value)})"
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not):
        yield node, "yes no", f"bool({ast.unparse(node.operand)})"


def _least_most(node: ast.AST) -> Iterator[tuple[ast.expr, str, str]]:
    if isinstance(node, ast.Name) and node.id in TURNED:
        yield node, "least most", TURNED[node.id]
    if isinstance(node, ast.Attribute) and node.attr in TURNED:
        yield node, "least most", f"{ast.unparse(node.value)}.{TURNED[node.attr]}"


WAYS = (_compare, _sum, _and_or, _constant, _guard, _turned_answer, _least_most)

"""What a class says of its attributes: as types, as words, and what it leaves to a constant."""

from __future__ import annotations

import ast
import inspect
import sys
import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import import_module
from importlib.util import resolve_name
from typing import Any, Union, get_args, get_origin, get_type_hints


@dataclass(frozen=True)
class Constant:
    """What a class says without an annotation."""

    value: object


def parts_of(hint: Any) -> tuple[Any, ...]:
    """Return the types that an annotation leaves open, or the one it is."""
    return get_args(hint) if get_origin(hint) in (Union, types.UnionType) else (hint,)


def may_be_none(hint: Any) -> bool:
    """Tell whether an annotation lets a value be missing."""
    return type(None) in parts_of(hint)


def lain_beside(hint: Any) -> Mapping[str, Any] | None:
    """Return what a type lays among its owner's keys; None where it stands under its own."""
    for part in parts_of(hint):
        found = getattr(get_origin(part) or part, "beside_types", None)
        if found is not None:
            return dict(found)
    return None


def hint_of(kind: Any, attribute: str) -> Any:
    """Return what an attribute is: its annotation, what its property returns, or its value."""
    first, _, of_part = attribute.partition(".")
    if of_part:
        return hint_of(hint_of(kind, first), of_part)
    hints = hints_of(kind)
    if attribute in hints:
        return hints[attribute]
    found = inspect.getattr_static(kind, attribute)
    getter = found.fget if isinstance(found, property) else getattr(found, "func", None)
    if getter is None:
        return Constant(found)
    names = names_in(getter.__module__)
    return get_type_hints(getter, names, include_extras=True)["return"]


@cache
def hints_of(kind: Any) -> dict[str, Any]:
    """Annotations of a class and of those it is made of, as types."""
    found: dict[str, Any] = {}
    for base in reversed(kind.__mro__):
        noted = inspect.get_annotations(base).items()
        notes = {name: hint for name, hint in noted if not str(hint).startswith("ClassVar")}
        if not notes:
            continue
        holder: Any = types.SimpleNamespace(__annotations__=notes)
        found |= get_type_hints(holder, names_in(base.__module__), include_extras=True)
    return found


@cache
def names_in(module: str) -> dict[str, Any]:
    """Names of a module, those that it loads for its types alone among them."""
    loaded = sys.modules[module]
    found = dict(vars(loaded))
    for node in ast.parse(inspect.getsource(loaded)).body:
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            for step in node.body:
                found |= dict(_imported(step, module))
    return found


def _imported(step: ast.stmt, module: str) -> Iterator[tuple[str, Any]]:
    if isinstance(step, ast.Import):
        for each in step.names:
            yield each.asname or each.name, import_module(each.name)
    if isinstance(step, ast.ImportFrom):
        name = "." * step.level + (step.module or "")
        source = import_module(resolve_name(name, module.rpartition(".")[0]))
        for each in step.names:
            yield each.asname or each.name, getattr(source, each.name)


@cache
def said_of(kind: Any) -> dict[str, str]:
    """What a docstring says of each attribute: under "Attributes", or that of its property."""
    found: dict[str, str] = {}
    for base in reversed(kind.__mro__):
        for name, part in vars(base).items():
            if isinstance(part, property | cached_property) and part.__doc__:
                found[name] = part.__doc__.partition("\n\n")[0].replace("\n", " ").strip()
    lines = inspect.getdoc(kind) or ""
    _, _, block = lines.partition("Attributes\n----------\n")
    names: list[str] = []
    for line in block.splitlines():
        if line.startswith("-----"):
            break
        if line and not line.startswith(" "):
            names = [name.strip() for name in line.split(",")]
            found |= dict.fromkeys(names, "")
        elif line:
            found |= {name: f"{found[name]} {line.strip()}".strip() for name in names}
    return {name: words for name, words in found.items() if words}

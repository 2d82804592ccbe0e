"""Names of a package that are looked up when they are asked for: most who ask need few of them."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from importlib import import_module


def names_from(package: str, places: Mapping[str, str]) -> Callable[[str], object]:
    """Return the ``__getattr__`` of a package; `places` says in which of its modules a name is."""

    def found(name: str) -> object:
        if name not in places:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(f"{package}.{places[name]}"), name)
        setattr(sys.modules[package], name, value)
        return value

    return found

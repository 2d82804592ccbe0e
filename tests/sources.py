"""Our own modules as Python reads them, read once for all tests that look at the code."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

TOP = Path(__file__).parents[1]


@cache
def modules_of(half: str) -> tuple[tuple[str, ast.Module], ...]:
    """Give every module of `panel` or `analysis` with its path from the top of the checkout."""
    return tuple(
        (path.relative_to(TOP).as_posix(), ast.parse(path.read_text(encoding="utf-8")))
        for path in sorted((TOP / half).rglob("*.py"))
    )

"""Lists of what is promised to others, one promise a line; `OAKPANEL_PROMISES=write` adds new ones.

OAKPANEL_PROMISES=write .venv/bin/pytest -n 0 tests/promises tests/cli/test_demo.py
"""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable
from pathlib import Path

HERE = Path(__file__).parent
HOW = (
    "List them, if others may lean on them from now on: "
    "OAKPANEL_PROMISES=write .venv/bin/pytest -n 0 tests/promises tests/cli/test_demo.py"
)


def listed(name: str, of: Iterable[str] = ("",)) -> set[str]:
    """Return the lines of a list that begin with one of *of*."""
    path = HERE / f"{name}.txt"
    lines = path.read_text(encoding="utf-8").splitlines() if path.exists() else []
    return {line for line in lines if line.startswith(tuple(of))}


def check_promises(name: str, found: Collection[str], of: str = "") -> None:
    """Hold what was found against the lines of a list that begin with *of*."""
    path = HERE / f"{name}.txt"
    new = sorted(set(found) - listed(name))
    if new and os.environ.get("OAKPANEL_PROMISES") == "write":
        path.write_text("\n".join(sorted({*listed(name), *new})) + "\n", encoding="utf-8")
        new = []
    gone = sorted(listed(name, [of]) - set(found))
    assert not gone, f"Promised and gone, see panel/CHANGES.md: {gone}"
    assert not new, f"Not listed in {path.name}: {new}. {HOW}"


NAMED_BY_RECORDS = frozenset(
    {
        *("barred", "counts", "disagreement_by_assessor", "left_out", "own_scores", "scores"),
        *("seconds", "sizes", "slopes", "verdicts"),
    }
)
"""What stands under these is named by the records or the work: assessors, reasons, steps."""


def keys_of(document: object, under: str) -> set[str]:
    """Return the keys of a JSON document as paths under a name."""
    if isinstance(document, list):
        return {key for part in document for key in keys_of(part, f"{under}[]")}
    if not isinstance(document, dict):
        return set()
    by_records = under.rpartition(".")[2] in NAMED_BY_RECORDS
    found: set[str] = set()
    for key, value in document.items():
        path = f"{under}.{'*' if by_records else key}"
        found |= {path} | keys_of(value, path)
    return found

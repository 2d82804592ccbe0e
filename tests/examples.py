"""How many examples Hypothesis tries: all in the gate, half at home."""

from __future__ import annotations

from os import environ

IN_GATE = bool(environ.get("CI"))
ALL = 100


def examples(count: int) -> int:
    """Return how many of a test's *count* examples are tried here."""
    return count if IN_GATE else max(count // 2, 1)

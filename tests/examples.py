"""How many examples Hypothesis tries: all in the wide gate, a third elsewhere."""

from __future__ import annotations

from os import environ

IN_GATE = bool(environ.get("CI"))
IN_WIDE_GATE = bool(environ.get("OAKPANEL_WIDE"))
ALL = 100


def examples(count: int) -> int:
    """Return how many of a test's *count* examples are tried here."""
    return count if IN_WIDE_GATE else max(count // 3, 1)

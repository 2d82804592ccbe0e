"""Which scores count, by what became of their glass; apart, so that helpers start light."""

from __future__ import annotations

USED = ("kept",)
"""Statuses of the scores that everything is computed with."""
OFF_THE_LINE = "off_the_line"
"""What was stored is no score of its line: infinite, no number, or beyond an end."""

"""Which scores count, by what became of their glass; apart, so that helpers start light."""

from __future__ import annotations

USED = ("kept",)
"""Statuses of the scores that everything is computed with."""

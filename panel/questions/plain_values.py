"""Answers as plain values, for whoever prints them as JSON."""

from __future__ import annotations

from typing import Any


def plain_values(value: object) -> Any:
    """Turn an answer, or any part of one, into what JSON can hold; nothing is rounded."""
    from analysis.as_json import as_json

    return as_json(value)

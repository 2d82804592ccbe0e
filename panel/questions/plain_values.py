"""Answers as plain values, for whoever prints them as JSON."""

from __future__ import annotations

import json
from typing import Any


def plain_values(value: object) -> Any:
    """Turn an answer, or any part of one, into what JSON can hold; nothing is rounded."""
    from analysis.as_json import as_json

    return as_json(value)


FORMAT = 1
"""Stands in every document; one higher once a key that was promised goes or changes its meaning."""


def json_text(document: object) -> str:
    """Return one JSON document; NaN never reaches it (a null with a reason does)."""
    told = {"format": FORMAT, **plain_values(document)}
    return json.dumps(told, ensure_ascii=False, indent=2, allow_nan=False)

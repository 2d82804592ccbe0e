"""Numbers as they are typed at the desk."""

from __future__ import annotations

from math import isfinite


def as_number(text: str | None) -> float | None:
    """Return what was typed as a number, with a point or one comma; None where it is none."""
    try:
        number = float((text or "").replace(",", "."))
    except ValueError:
        return None
    return number if isfinite(number) else None

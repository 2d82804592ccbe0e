"""Casks of sessions that share no glass with those compared, in words: what may come in."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from analysis.next_glasses import NextSession


def apart_words(found: NextSession) -> str:
    """Return what may come in of sessions without a common glass; nothing without any."""
    names = _apart(found)
    if not names:
        return ""
    return (
        f"Left out of it, but may come in once poured: {', '.join(names)}, of sessions that share "
        "no glass with those compared. Their casks are known against each other only; one of each "
        "beside the others ties them, and so would a reference in every session."
    )


def apart_in_short(found: NextSession) -> str:
    """Return the same for a page."""
    names = _apart(found)
    said = f"Left out, but may come in once poured: {', '.join(names)} (no glass in common)."
    return said if names else ""


def _apart(found: NextSession) -> list[str]:
    from analysis.next_glasses import Why

    return [one.cask for one in found.casks if one.reason.why is Why.APART and one.cask]

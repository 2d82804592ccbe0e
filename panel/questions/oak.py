"""Whether a wood on record is oak, as far as its name tells."""

from __future__ import annotations

import re
from collections.abc import Iterable
from enum import Enum, auto

OTHER_WOODS = frozenset(
    {
        *("acacia", "alder", "amburana", "apple", "ash", "beech", "birch", "cedar", "cherry"),
        *("chestnut", "elm", "fir", "hickory", "juniper", "larch", "lime", "linden", "maple"),
        *("mulberry", "olive", "pear", "pine", "plum", "poplar", "robinia", "spruce", "sycamore"),
        *("teak", "walnut", "willow"),
    }
)
"""Woods that are no oak, by the names that trees have; not all there are."""
_WORD = re.compile(r"[^\W\d_]+")


class Oak(Enum):
    """What a wood's name tells."""

    YES = auto()
    NO = auto()
    """It names another wood and no oak."""
    UNTOLD = auto()
    """It names no wood (a refill barrel), or oak beside another: somebody has to look."""


def oak_of(wood: str) -> Oak:
    """Return whether a wood on record is oak.

    Examples
    --------
    >>> [oak_of(wood).name for wood in ("American oak", "chestnut hogshead", "refill barrel")]
    ['YES', 'NO', 'UNTOLD']
    """
    words = {word.removesuffix("wood") for word in _WORD.findall(wood.lower())}
    is_oak = bool(words & {"oak", "oaken"})
    is_other = bool(words & OTHER_WOODS)
    if is_oak == is_other:
        return Oak.UNTOLD
    return Oak.YES if is_oak else Oak.NO


def woods_that_are(oak: Oak, woods: Iterable[str]) -> list[str]:
    """Return the woods of which the name tells this, each once and sorted."""
    return sorted({wood for wood in woods if oak_of(wood) is oak})

"""How far the models of ageing reach: which casks they can move, and what is said of the others."""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum


class Cover(StrEnum):
    """How far the models of ageing could move a cask's notes."""

    MODEL = "by wood, fill, make and own draws"
    KIND = "as casks of its kind"
    BEYOND = "up to the ages nosed in its wood"
    NONE = "no model of its notes"


COVER_NOTES: Mapping[Cover, str] = {
    Cover.KIND: "its records tell too little: its notes are moved as those of casks of its kind",
    Cover.BEYOND: (
        "its age is past those nosed in its wood: its notes are moved up to there, and are less "
        "sure for the rest"
    ),
    Cover.NONE: (
        "nothing is known of how its notes age: they stand as they were nosed, and are less sure "
        "with every year"
    ),
}
"""What to know of a cask that the models do not wholly cover, in words."""

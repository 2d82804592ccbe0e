"""What is asked of the next session, in plain values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from panel.questions.session_room import RoomAsked
from panel.questions.usual_best import USUAL_BEST

if TYPE_CHECKING:
    from datetime import date

RECORDS = {
    "wood": "WOOD",
    "fill": "FILL",
    "peat": "PEAT",
    "make": "MAKE",
    "site": "SITE",
    "warehouse": "WAREHOUSE",
}
"""Records whose levels can be compared, by the name that they are asked for."""


@dataclass(frozen=True)
class NextWanted:
    """What is to be decided, and what the session may be.

    Attributes
    ----------
    target
        Of the best casks, or of the dates of a make.
    make
        Casks of which make are asked about: which is ready when.
    record
        The record of which is asked whether it matters; a key of `RECORDS`.
    best
        How many casks are wanted.
    bottles
        Whether the loss is told in bottles too.
    swaps
        Pairs of casks, the one that goes and the one that comes.
    bottling_on
        The day that the best casks are wanted for; that of the question by default.
    with_held
        Whether casks that are leaking, held or reserved may be among the best.
    """

    target: str | None = None
    make: str | None = None
    record: str | None = None
    best: int = USUAL_BEST
    bottles: bool = False
    room: RoomAsked = field(default_factory=RoomAsked)
    swaps: tuple[tuple[str, str], ...] = ()
    seed: int = 1
    bottling_on: date | None = None
    with_held: bool = False

"""The browser's registry by kind of session: the page of each place an assessor can stand at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import TypeAlias

from panel.kinds import SessionKind
from panel.seat.kinds import Place, place_of
from panel.seat.values import Tray
from panel.serve.pages import (
    QUIET,
    Message,
    Shown,
    at_glass,
    at_set,
    between_glasses,
    named_words,
    passed_glass,
    traced_glass,
)

Face: TypeAlias = Callable[[Tray, datetime, Message], Shown]
SCORED: Mapping[Place, Face] = {Place.BETWEEN: between_glasses, Place.AT_GLASS: at_glass}
IN_SETS: Mapping[Place, Face] = {Place.BETWEEN: between_glasses, Place.AT_GLASS: at_set}
FACES: dict[SessionKind, Mapping[Place, Face]] = {
    SessionKind.PROFILE: SCORED,
    SessionKind.OWN_WORDS: {**SCORED, Place.NAMING: named_words},
    SessionKind.PASSING: {Place.BETWEEN: between_glasses, Place.AT_GLASS: passed_glass},
    SessionKind.STRONGER: IN_SETS,
    SessionKind.TWO_AND_TWO: IN_SETS,
    SessionKind.RANKING: IN_SETS,
    SessionKind.TRACE: {Place.BETWEEN: between_glasses, Place.AT_GLASS: traced_glass},
    SessionKind.ODD_ONE_OUT: IN_SETS,
    SessionKind.LIKE_THE_FIRST: IN_SETS,
    SessionKind.STAGES: SCORED,
}


def standing(tray: Tray, now: datetime, message: Message = QUIET) -> Shown:
    """Return the page of the place that an assessor stands at."""
    return FACES[tray.held_as][place_of(tray)](tray, now, message)

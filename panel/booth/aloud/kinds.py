"""The plain booth's registry by kind of session: what is asked at each place of an assessor."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from panel.booth.aloud.between import Between
from panel.booth.aloud.glass import AtGlass
from panel.booth.aloud.passing import Passed
from panel.booth.aloud.place import Place
from panel.booth.aloud.sets import AtSet
from panel.booth.aloud.sitting import Sitting
from panel.booth.aloud.traces import AtTrace
from panel.booth.aloud.words import Naming
from panel.kinds import SessionKind
from panel.seat import kinds as seat
from panel.seat.values import glass_in_hand, set_in_hand

Face: TypeAlias = Callable[[Sitting], Place]


def _at_glass(sitting: Sitting) -> Place:
    glass = glass_in_hand(sitting.tray)
    return Between(sitting) if glass is None else AtGlass(sitting, glass)


def _passing(sitting: Sitting) -> Place:
    glass = glass_in_hand(sitting.tray)
    return Between(sitting) if glass is None else Passed(sitting, glass)


def _at_set(sitting: Sitting) -> Place:
    one = set_in_hand(sitting.tray)
    return Between(sitting) if one is None else AtSet(sitting, one)


def _at_trace(sitting: Sitting) -> Place:
    glass = glass_in_hand(sitting.tray)
    return Between(sitting) if glass is None else AtTrace(sitting, glass)


SCORED: Mapping[seat.Place, Face] = {seat.Place.BETWEEN: Between, seat.Place.AT_GLASS: _at_glass}
IN_SETS: Mapping[seat.Place, Face] = {seat.Place.BETWEEN: Between, seat.Place.AT_GLASS: _at_set}
FACES: dict[SessionKind, Mapping[seat.Place, Face]] = {
    SessionKind.PROFILE: SCORED,
    SessionKind.OWN_WORDS: {**SCORED, seat.Place.NAMING: Naming},
    SessionKind.PASSING: {seat.Place.BETWEEN: Between, seat.Place.AT_GLASS: _passing},
    SessionKind.STRONGER: IN_SETS,
    SessionKind.TWO_AND_TWO: IN_SETS,
    SessionKind.RANKING: IN_SETS,
    SessionKind.TRACE: {seat.Place.BETWEEN: Between, seat.Place.AT_GLASS: _at_trace},
    SessionKind.ODD_ONE_OUT: IN_SETS,
    SessionKind.LIKE_THE_FIRST: IN_SETS,
    SessionKind.STAGES: SCORED,
}


def standing(sitting: Sitting) -> Place:
    """Return the place that an assessor stands at, or went to among their own words."""
    tray = sitting.tray
    place = seat.Place.NAMING if sitting.at_words else seat.place_of(tray)
    return FACES[tray.held_as][place](sitting)

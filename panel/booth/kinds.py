"""The booth's registry by kind of session: the screen of each place an assessor can stand at."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

from panel.booth.between import BetweenScreen
from panel.booth.glass import GlassScreen
from panel.booth.passing import PassScreen
from panel.booth.seated import SeatedScreen
from panel.booth.sets import SetScreen
from panel.booth.traces import TraceScreen
from panel.booth.words import WordsScreen
from panel.kinds import SessionKind
from panel.seat.kinds import Place
from panel.session import scoring
from panel.session.sets import set_in_hand
from panel.store.booth_tray import Tray

Face: TypeAlias = Callable[[Tray, str, bool], SeatedScreen]


def _between(_tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    return BetweenScreen(said, trouble=trouble)


def _at_glass(tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    glass = scoring.glass_in_hand(tray)
    return (
        _between(tray, said, trouble)
        if glass is None
        else GlassScreen(glass, said, trouble=trouble)
    )


def _passing(tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    glass = scoring.glass_in_hand(tray)
    if glass is None:
        return _between(tray, said, trouble)
    return PassScreen(glass, said, trouble=trouble)


def _at_trace(tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    glass = scoring.glass_in_hand(tray)
    if glass is None:
        return _between(tray, said, trouble)
    return TraceScreen(glass, said, trouble=trouble)


def _naming(_tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    return WordsScreen(said, trouble=trouble)


def _at_set(tray: Tray, said: str, trouble: bool) -> SeatedScreen:
    one = set_in_hand(tray)
    return _between(tray, said, trouble) if one is None else SetScreen(one, said, trouble=trouble)


SCORED: Mapping[Place, Face] = {Place.BETWEEN: _between, Place.AT_GLASS: _at_glass}
IN_SETS: Mapping[Place, Face] = {Place.BETWEEN: _between, Place.AT_GLASS: _at_set}
FACES: dict[SessionKind, Mapping[Place, Face]] = {
    SessionKind.PROFILE: SCORED,
    SessionKind.OWN_WORDS: {**SCORED, Place.NAMING: _naming},
    SessionKind.PASSING: {Place.BETWEEN: _between, Place.AT_GLASS: _passing},
    SessionKind.STRONGER: IN_SETS,
    SessionKind.TWO_AND_TWO: IN_SETS,
    SessionKind.RANKING: IN_SETS,
    SessionKind.TRACE: {Place.BETWEEN: _between, Place.AT_GLASS: _at_trace},
    SessionKind.ODD_ONE_OUT: IN_SETS,
    SessionKind.LIKE_THE_FIRST: IN_SETS,
    SessionKind.STAGES: SCORED,
}

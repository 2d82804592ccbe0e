"""The desk's registry by kind of session: which page judges it."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from panel.kinds import SessionKind

if TYPE_CHECKING:
    from textual.screen import Screen


def _agreement(name: str) -> Screen[Any]:
    from panel.desk.agreement_page import AgreementPage

    return AgreementPage(name)


def _own_words(name: str) -> Screen[Any]:
    from panel.desk.own_words_page import OwnWordsPage

    return OwnWordsPage(name)


def _passing(name: str) -> Screen[Any]:
    from panel.desk.passing_page import PassingPage

    return PassingPage(name)


def _sets(name: str) -> Screen[Any]:
    from panel.desk.sets_page import SetsPage

    return SetsPage(name)


def _traces(name: str) -> Screen[Any]:
    from panel.desk.traces_page import TracesPage

    return TracesPage(name)


def _stages(name: str) -> Screen[Any]:
    from panel.desk.stages_page import StagesPage

    return StagesPage(name)


AGREEMENT_PAGES: dict[SessionKind, Callable[[str], Screen[Any]]] = {
    SessionKind.PROFILE: _agreement,
    SessionKind.OWN_WORDS: _own_words,
    SessionKind.PASSING: _passing,
    SessionKind.STRONGER: _sets,
    SessionKind.TWO_AND_TWO: _sets,
    SessionKind.RANKING: _sets,
    SessionKind.TRACE: _traces,
    SessionKind.ODD_ONE_OUT: _sets,
    SessionKind.LIKE_THE_FIRST: _sets,
    SessionKind.STAGES: _stages,
}

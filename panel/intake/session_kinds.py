"""Intake's registry by kind of session: which file carries its scores."""

from __future__ import annotations

from panel.intake.kinds import Kind
from panel.kinds import USUAL_KIND, SessionKind

SCORE_FILES: dict[SessionKind, Kind] = {
    SessionKind.PROFILE: Kind.SCORES,
    SessionKind.OWN_WORDS: Kind.OWN_SCORES,
    SessionKind.PASSING: Kind.SCORES,
    SessionKind.STRONGER: Kind.ANSWERS,
    SessionKind.TWO_AND_TWO: Kind.ANSWERS,
    SessionKind.RANKING: Kind.ANSWERS,
    SessionKind.TRACE: Kind.TRACES,
    SessionKind.ODD_ONE_OUT: Kind.ANSWERS,
    SessionKind.LIKE_THE_FIRST: Kind.ANSWERS,
    SessionKind.STAGES: Kind.SCORES,
}


def is_usual_file(file: Kind) -> bool:
    """Say whether a kind of file is the one that most sessions' scores stand in."""
    return SCORE_FILES[USUAL_KIND] is file


def kind_brought_by(file: Kind) -> SessionKind:
    """Return what a session becomes that nobody knew before a file of scores named it."""
    return next(kind for kind, carried in SCORE_FILES.items() if carried is file)


def where_to_load(kind: SessionKind) -> str:
    """Return what to say of a session whose scores come in another file."""
    how = f"`load {SCORE_FILES[kind].value}`"
    return f"this session is {kind.facts.scored}: load its scores with {how}"


def where_saved(kind: SessionKind) -> str:
    """Return what to say of a session whose scores go into another file."""
    return f"{kind.facts.scored}: `oakpanel save {SCORE_FILES[kind].value}` has its scores"


def left_out_because(kind: SessionKind) -> str:
    """Return why sessions of a kind are left out of the file that is written."""
    how = f"`save {SCORE_FILES[kind].value}` has them"
    return f"{kind.facts.scored.capitalize()}, so left out ({how})"

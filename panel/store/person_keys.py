"""What the record of a person holds, key by key; a moment has a space before the hour."""

from __future__ import annotations

from datetime import date
from typing import Any, NotRequired, TypedDict

from panel.kinds import CallReason, Fault, Role, ServingStatus, SessionStatus


class ChangeKept(TypedDict):
    """A score that was changed, and what it was."""

    descriptor: str
    score: float | None
    changed_at: str | None


class OwnChangeKept(TypedDict):
    """A score on a word of their own that was changed, and what it was."""

    word: str
    score: float | None
    changed_at: str | None


class AnswerKept(TypedDict):
    """An answer on a glass that is no score on a line: a place in its set, to a question's number.

    `answer` is missing where it was taken back; `given_at` is when it was given or changed.
    """

    question: int
    answer: float | None
    given_at: str | None


class GlassKept(TypedDict):
    """A glass of theirs, under its code; `passed` where glasses are passed or held."""

    code: str
    read_as: str | None
    flight: int
    position: int | None
    status: ServingStatus
    taken_at: str | None
    finished_at: str | None
    scores: dict[str, float | None]
    changes: list[ChangeKept]
    own_scores: dict[str, float | None]
    own_changes: list[OwnChangeKept]
    answers: list[AnswerKept]
    answer_changes: list[AnswerKept]
    passed: bool | None
    faults: list[Fault]
    note: str | None


# As a key and no more: what kind a session is of, only a registry tells.
_OwnWords = TypedDict("_OwnWords", {"own_words": list[str]})  # noqa: UP013


class SeatKept(_OwnWords):
    """A session in which they sat; `not_at_best` only where what is private was asked for."""

    session: str
    held_on: date | None
    status: SessionStatus
    seat: int
    knew_key: bool
    finished_at: str | None
    glasses: list[GlassKept]
    not_at_best: NotRequired[bool]


class ConsentKept(TypedDict):
    """A consent, to which version of the house's text, and when it was withdrawn if it was."""

    given_on: date
    text_version: str
    keeps_scores: bool
    withdrawn_on: date | None


class TrainingKept(TypedDict):
    """A training: from which day on, and from which they were one of the panel."""

    begun_on: date
    taken_in_on: date | None


class CallKept(TypedDict):
    """A call for the lead."""

    reason: CallReason
    called_at: str | None
    answered_at: str | None


class MarkKept(TypedDict):
    """A glass that they marked."""

    status: ServingStatus
    marked_at: str | None
    note: str | None


class EntryKept(TypedDict):
    """An entry of the log that speaks of them."""

    number: int
    at: str | None
    body: Any


class PersonRecord(TypedDict):
    """All that is kept about one person."""

    code: str
    name: str | None
    roles: list[Role]
    joined_on: date | None
    left_on: date | None
    has_pin: bool
    consents: list[ConsentKept]
    trainings: list[TrainingKept]
    sessions: list[SeatKept]
    calls: list[CallKept]
    marks_made: list[MarkKept]
    log: list[EntryKept]

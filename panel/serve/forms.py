"""A form that came in: what was typed and tapped, as the deeds of a seat.

A glass goes by what stands on it, its code and pouring; its number in the records stays here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, TypeAlias, TypeVar
from urllib.parse import parse_qsl

from panel.errors import BoothError
from panel.kinds import CallReason, Fault, Task
from panel.seat.arriving import glass_number
from panel.seat.care import Wrong
from panel.seat.care import jobs_of as calls_of
from panel.seat.jobs import (
    AnswerSet,
    CallLead,
    Job,
    KeepNote,
    KeepPrompt,
    KeepScores,
    MarkFault,
    NameWord,
    OwnMark,
    PutDown,
    RenameWord,
    RestZero,
    TakeUp,
    TakeWordBack,
    ZerosBack,
)
from panel.seat.values import DEED_DIGITS, Answering

if TYPE_CHECKING:
    from panel.seat.values import Seat, Store

Fields: TypeAlias = Mapping[str, str]
Choice = TypeVar("Choice", bound=StrEnum)
NUMBER = re.compile(f"[0-9a-f]{{{DEED_DIGITS}}}")
WHOLE = re.compile(r"-?[0-9]{1,6}")
GLASS = re.compile(r"([0-9]{3})\.([0-9]{1,4})")
CODE = re.compile(r"[0-9]{3}")
PLACE = re.compile(r"[1-9]")
DIGIT = re.compile(r"[0-9]")
SECONDS = re.compile(r"[0-9]{1,6}(\.[0-9]{1,3})?")
ODD = "That form is none of these pages'. Nothing was kept: load the page again."
MOST_FIELDS = 400


class DeedKind(StrEnum):
    """What a form asks to be done."""

    SCORES = "scores"
    REST_ZERO = "rest"
    ZEROS_BACK = "zeros"
    FAULT = "fault"
    NOTE = "note"
    TAKE = "take"
    DOWN = "down"
    HOLD = "hold"
    CALL = "call"
    OWN_MARK = "mark"
    WORD = "word"
    MEND = "mend"
    UNWORD = "unword"
    SET = "set"
    PROMPT = "prompt"


class OwnMarkChoice(StrEnum):
    """The choices of the own mark, in the order they are offered in."""

    MARKED = "marked"
    MARKED_AND_CALL = "call"
    OFF = "off"


@dataclass(frozen=True)
class Asked:
    """A deed as it is asked for: under its number, with the jobs that it comes to."""

    kind: DeedKind
    number: str
    jobs: tuple[Job, ...]


def read_fields(body: bytes) -> Fields:
    """Return the fields of a form; the last of a name counts."""
    try:
        return dict(parse_qsl(body.decode(), True, max_num_fields=MOST_FIELDS))
    except ValueError:
        raise BoothError(ODD) from None


def asked_of(fields: Fields, seat: Seat, store: Store) -> Asked:
    """Return the deed that a form asks for.

    Raises
    ------
    BoothError
        The form is none of ours; or a value is none.
    WrongGlass
        Its glass is not on this seat's tray.
    """
    number = fields.get("number", "")
    if not NUMBER.fullmatch(number):
        raise BoothError(ODD)
    kind = _one_of(DeedKind, fields.get("deed", ""))
    if kind is DeedKind.SET:
        return Asked(kind, number, _answer(fields, seat, store))
    if kind is DeedKind.CALL and "unsafe" in fields:
        return Asked(kind, number, _unsafe(fields, seat, store))
    of_glass = kind in OF_GLASS or (kind is DeedKind.CALL and "glass" in fields)
    glass = _glass(fields, seat, store) if of_glass else 0
    return Asked(kind, number, JOBS[kind](fields, glass))


def _glass(fields: Fields, seat: Seat, store: Store) -> int:
    found = GLASS.fullmatch(fields.get("glass", ""))
    if found is None:
        raise BoothError(ODD)
    return glass_number(store, seat, found[1], int(found[2]))


def _scores(fields: Fields, glass: int) -> tuple[Job, ...]:
    values = {
        _whole(name.partition("-")[2]): _value(given)
        for name, given in sorted(fields.items())
        if name.startswith("line-") and given != fields.get(f"was-{name[5:]}")
    }
    return (KeepScores(glass, values),)


def _value(given: str) -> int | None:
    given = given.strip()
    if given and not WHOLE.fullmatch(given):
        raise BoothError("A score is a whole number, or blank.")
    return int(given) if given else None


def _zeros_back(fields: Fields, glass: int) -> tuple[Job, ...]:
    lines = fields.get("lines", "").split()
    return (ZerosBack(glass, frozenset(map(_whole, lines))),)


def _fault(fields: Fields, glass: int) -> tuple[Job, ...]:
    name, _, on = fields.get("fault", "").rpartition(":")
    return (MarkFault(glass, _one_of(Fault, name).value, on == "on"),)


def _hold(fields: Fields, glass: int) -> tuple[Job, ...]:
    return (MarkFault(glass, _one_of(Fault, fields.get("fault", "")).value, True), PutDown(glass))


def _call(fields: Fields, glass: int) -> tuple[Job, ...]:
    reason = _one_of(CallReason, fields.get("reason", "")).value
    return (CallLead(reason, glass or None),)


def _unsafe(fields: Fields, seat: Seat, store: Store) -> tuple[Job, ...]:
    """Return the calls that a glass, or one of several, is not safe; without one nothing stops."""
    named = fields["unsafe"].split()
    return calls_of(Wrong.NOT_SAFE, [_glass({"glass": each}, seat, store) for each in named])


def _own_mark(fields: Fields, _glass: int) -> tuple[Job, ...]:
    choice = _one_of(OwnMarkChoice, fields.get("choice", ""))
    mark = OwnMark(choice is not OwnMarkChoice.OFF)
    also = choice is OwnMarkChoice.MARKED_AND_CALL
    return (mark, CallLead(CallReason.OTHER.value)) if also else (mark,)


def _take(fields: Fields, _glass: int) -> tuple[Job, ...]:
    code = fields.get("code", "").strip()
    if not CODE.fullmatch(code):
        raise BoothError("A code has three digits. Type the one on the glass in your hand.")
    return (TakeUp(code),)


def _mend(fields: Fields, _glass: int) -> tuple[Job, ...]:
    return (RenameWord(_whole(fields.get("which", "")), fields.get("word", "")),)


def _unword(fields: Fields, _glass: int) -> tuple[Job, ...]:
    return (TakeWordBack(_whole(fields.get("which", "")), fields.get("word", "")),)


def _answer(fields: Fields, seat: Seat, store: Store) -> tuple[Job, ...]:
    """Return the answer to a set: the one chosen of its glasses, or a place for each."""
    number = _whole(fields.get("set", ""))
    given = [each for each in fields.get("glasses", "").split() if GLASS.fullmatch(each)]
    ids = [_glass({"glass": each}, seat, store) for each in given]
    if "left" in fields:
        return (AnswerSet(number, {}),)
    if "chosen" in fields:
        task = _one_of(Task, fields.get("task", ""))
        if fields["chosen"] not in given:
            raise BoothError("Choose one first.")
        chosen = Answering(task, len(given)).with_number(given.index(fields["chosen"]))
        return (AnswerSet(number, dict(zip(ids, chosen.places(), strict=True))),)
    places = [fields.get(f"place-{each}", "") for each in given]
    if not places or not all(PLACE.fullmatch(place) for place in places):
        raise BoothError("Give every glass a place first.")
    ranks = [1 + sum(int(other) < int(place) for other in places) for place in places]
    return (AnswerSet(number, dict(zip(ids, ranks, strict=True))),)


def _prompt(fields: Fields, glass: int) -> tuple[Job, ...]:
    """Return the answer at one second; with that at the last one, the glass is put down too."""
    number, given = _whole(fields.get("prompt", "")), fields.get("given", "")
    if not DIGIT.fullmatch(given):
        raise BoothError("How much there is goes from 0 to 9.")
    at = fields.get("at_s", "")
    if at and not SECONDS.fullmatch(at):
        raise BoothError(ODD)
    kept = KeepPrompt(glass, number, int(given), float(at) if at else None)
    return (kept, PutDown(glass)) if "ends" in fields else (kept,)


OF_GLASS = frozenset(
    {
        DeedKind.PROMPT,
        *(DeedKind.SCORES, DeedKind.REST_ZERO, DeedKind.ZEROS_BACK, DeedKind.FAULT),
        *(DeedKind.NOTE, DeedKind.DOWN, DeedKind.HOLD),
    }
)
JOBS: Mapping[DeedKind, Callable[[Fields, int], tuple[Job, ...]]] = {
    DeedKind.SCORES: _scores,
    DeedKind.REST_ZERO: lambda _, glass: (RestZero(glass),),
    DeedKind.ZEROS_BACK: _zeros_back,
    DeedKind.FAULT: _fault,
    DeedKind.NOTE: lambda fields, glass: (KeepNote(glass, fields.get("text", "")),),
    DeedKind.TAKE: _take,
    DeedKind.DOWN: lambda _, glass: (PutDown(glass),),
    DeedKind.HOLD: _hold,
    DeedKind.CALL: _call,
    DeedKind.OWN_MARK: _own_mark,
    DeedKind.WORD: lambda fields, _: (NameWord(fields.get("word", "")),),
    DeedKind.MEND: _mend,
    DeedKind.PROMPT: _prompt,
    DeedKind.UNWORD: _unword,
}


def _one_of(kind: type[Choice], given: str) -> Choice:
    try:
        return kind(given)
    except ValueError:
        raise BoothError(ODD) from None


def _whole(given: str) -> int:
    if not WHOLE.fullmatch(given):
        raise BoothError(ODD)
    return int(given)

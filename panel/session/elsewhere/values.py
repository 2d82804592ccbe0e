"""What a pack and a return hold, each value checked as it is read.

A pack has no place for a draw, a cask, what kind of glass it is, the secret bits, a PIN or a name
of a person; of people it has the codes of those who sit at that site. A return has people by seat
only.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from panel.kinds import CallReason, Fault, Manner, ServingStatus, SessionKind, Stage
from panel.store.word_text import LONGEST_NOTE, LONGEST_WORD

Code = Annotated[str, Field(pattern=r"^[0-9]{3}$")]
Hex32 = Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]
Hex64 = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
Words = Annotated[str, Field(max_length=LONGEST_NOTE)]
Named = Annotated[str, Field(min_length=1, max_length=1000)]
Counted = Annotated[int, Field(ge=0, le=10_000)]
FromOne = Annotated[int, Field(ge=1, le=10_000)]
Millilitres = Annotated[float, Field(ge=0, le=1_000_000)]
Strength = Annotated[float, Field(gt=0, le=100)]


class Carried(BaseModel):
    """Whatever travels: read strictly, nothing more than is known."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


class CarriedSession(Carried):
    """The facts of a session that a booth shows, and the hash of its sealed key."""

    name: Named
    kind: SessionKind
    manner: Manner
    held_on: date
    may_go_back: bool
    codes_per_assessor: bool
    pause_s: Counted
    pour_ml: Millilitres
    nosing_abv: Strength
    most_words: FromOne | None
    rehearsal: bool
    key_hash: Hex64


class CarriedLine(Carried):
    """A line of the sheet, as the house's lexicon describes it."""

    place: Counted
    name: Named
    version: FromOne
    meaning: str | None
    stage: Stage
    low_words: str
    high_words: str
    low: float
    high: float
    ought_to_be_absent: bool


class CarriedGlass(Carried):
    """A glass by its code, and where it stands on the tray."""

    flight: FromOne
    position: Counted | None
    code: Code
    pouring: FromOne
    warm_up: bool


class CarriedSeat(Carried):
    """A seat, the code by which its person signs in, and the tray."""

    seat: Counted
    assessor: Named
    glasses: tuple[CarriedGlass, ...]


class CarriedTold(Carried):
    """What the noses of a passing session are told, and the air between its blocks."""

    told: str
    air_s: Counted


class PackBody(Carried):
    """A pack: what booths at another site need, and the secret under which its return is known."""

    pack_hex: Hex32
    house_hex: Hex64
    secret_hex: Hex64
    site: Named
    water: Named
    made_at: AwareDatetime
    nose_by: date
    sent_ml: Millilitres
    caps: dict[str, float]
    session: CarriedSession
    lines: tuple[CarriedLine, ...]
    told: CarriedTold | None
    seats: tuple[CarriedSeat, ...]


class GivenValue(Carried):
    """A value on a line, by the line's place on the sheet, and when it was given."""

    line: Counted
    value: float
    at: AwareDatetime


class ChangedValue(Carried):
    """A change of a value; empty where it was cleared."""

    line: Counted
    value: float | None
    at: AwareDatetime


class ReturnedNote(Carried):
    """What was written about a glass."""

    text: Words
    at: AwareDatetime


class ReturnedFault(Carried):
    """A fault that was marked."""

    fault: Fault
    at: AwareDatetime


class ReturnedMark(Carried):
    """What the lead there made of a glass; `reverses` counts the marks of that glass from 0."""

    status: ServingStatus
    at: AwareDatetime
    by: Named
    note: str | None
    reverses: Counted | None


class ReturnedGlass(Carried):
    """A glass as it came back; the order in which it was really taken is among it."""

    seat: Counted
    code: Code
    pouring: FromOne
    read_as: Code | None
    taken_order: Counted | None
    taken_at: AwareDatetime | None
    finished_at: AwareDatetime | None
    given: tuple[GivenValue, ...]
    changes: tuple[ChangedValue, ...]
    faults: tuple[ReturnedFault, ...]
    note: ReturnedNote | None
    marks: tuple[ReturnedMark, ...]


class ReturnedWord(Carried):
    """A word of an assessor's own, by its place among them."""

    place: FromOne
    word: Annotated[str, Field(min_length=1, max_length=LONGEST_WORD)]
    at: AwareDatetime


class ReturnedSeat(Carried):
    """A seat as it was left."""

    seat: Counted
    finished_at: AwareDatetime | None
    words: tuple[ReturnedWord, ...]


class ReturnedCall(Carried):
    """A call for the lead there; of a glass by code and pouring, where it was about one."""

    seat: Counted
    code: Code | None
    pouring: FromOne | None
    reason: CallReason
    called_at: AwareDatetime
    answered_at: AwareDatetime | None


class ReturnedStop(Carried):
    """A draw stopped as not safe, by the glass that was named; `call` counts the calls from 0."""

    seat: Counted
    code: Code
    pouring: FromOne
    call: Counted | None
    stopped_at: AwareDatetime
    by: Named
    note: str | None
    lifted_at: AwareDatetime | None
    lifted_by: str | None
    lifted_because: str | None


class ReturnedAmount(Carried):
    """Spirit that was received or destroyed there."""

    millilitres: Millilitres
    on: date
    by: Named


class ReturnBody(Carried):
    """A return: all that was said of the glasses of one pack, and what became of the spirit."""

    pack_hex: Hex32
    pack_hash: Hex64
    site_head_hex: Hex64
    held_on: date
    seats: tuple[ReturnedSeat, ...]
    glasses: tuple[ReturnedGlass, ...]
    calls: tuple[ReturnedCall, ...]
    stops: tuple[ReturnedStop, ...]
    received: ReturnedAmount
    destroyed: ReturnedAmount

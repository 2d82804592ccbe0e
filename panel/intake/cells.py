"""What a single cell may hold: each type turns text into a value or says what would be right."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from difflib import get_close_matches
from enum import StrEnum
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, ValidationInfo
from pydantic_core import PydanticCustomError

from panel.figures import in_digits
from panel.intake.day_order import OpenDay
from panel.intake.decimals import EXAMPLE, PLAIN, parse_number
from panel.intake.table import BrokenCell, TypedNumber
from panel.store.ages import FIRST_YEAR
from panel.store.word_text import name_fault

ISO_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
OTHER_DAY = re.compile(r"([0-9]{1,4})[./-]([0-9]{1,2})[./-]([0-9]{1,4})")
UNSEEN = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b\u2060\ufeff]")
EXCEL_EPOCH = date(1899, 12, 30)
DAY_NUMBERS = range(10_000, 80_000)
YES = frozenset({"yes", "y", "true", "1"})
NO = frozenset({"no", "n", "false", "0"})
LONGEST_TEXT = 20_000


class RowModel(BaseModel):
    """One row of a file. `at` is the row as a spreadsheet counts it."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    at: int


def fault(words: str, *, column: str = "", value: str = "") -> PydanticCustomError:
    """Return a fault with these words; a row's own check names the column and the value."""
    return PydanticCustomError("cell", "{words}", {"words": words, "column": column, "cell": value})


def _present(text: str | None) -> str:
    if isinstance(text, BrokenCell):
        raise fault(text.words)
    return text or ""


def read_text(text: str | None) -> str | None:
    """Return the text of a cell, None for an empty one."""
    text = _present(text)
    if not text:
        return None
    unseen = UNSEEN.search(text)
    if unseen is not None:
        code = ord(unseen[0])
        raise fault(f"holds a sign that cannot be seen (U+{code:04X}): type the text again")
    if len(text) > LONGEST_TEXT:
        raise fault(
            f"is {in_digits(len(text), ',')} characters long; at most "
            f"{in_digits(LONGEST_TEXT, ',')}"
        )
    return str(text)


def need_text(text: str | None) -> str:
    """Return the text of a cell that must not be empty."""
    read = read_text(text)
    if read is None:
        raise fault("must not be empty")
    return read


def need_name(text: str | None) -> str:
    """Return a name: one line of text."""
    name = need_text(text)
    if "\n" in name:
        raise fault("a name stands on one line")
    if wrong := name_fault(name):
        raise fault(wrong)
    if isinstance(text, TypedNumber) and PLAIN.fullmatch(name) and not name.isdigit():
        raise fault("the workbook holds this name as a number: format the column as text")
    return name


def read_name(text: str | None) -> str | None:
    """Return a name, None for an empty cell."""
    return need_name(text) if _present(text) else None


@dataclass(frozen=True)
class Within:
    """A number with its bounds; `above` leaves the bound itself out."""

    unit: str
    low: float | None = None
    high: float | None = None
    above: float | None = None
    hint: Callable[[float], str | None] = lambda _number: None
    example: str = EXAMPLE

    def __call__(self, text: str | None) -> float:
        """Return the number of a cell that must not be empty."""
        number = self.read(text)
        if number is None:
            raise fault(f"must not be empty: a number in {self.unit}")
        return number

    def read(self, text: str | None) -> float | None:
        """Return the number of a cell, None for an empty one."""
        text = _present(text)
        if not text:
            return None
        try:
            number = parse_number(text, self.example)
        except ValueError as error:
            raise fault(str(error)) from None
        wrong = self.wrong(number)
        if wrong is not None:
            raise fault(wrong)
        return number

    def wrong(self, number: float) -> str | None:
        """Return what is wrong with a number, None if nothing is."""
        if self.above is not None and number <= self.above:
            return f"must be more than {self._said(self.above)}"
        if self.low is not None and number < self.low:
            return f"must be {self._said(self.low)} or more"
        if self.high is not None and number > self.high:
            return f"must be {self._said(self.high)} or less"
        return self.hint(number)

    def _said(self, number: float) -> str:
        return f"{in_digits(number, 'g')} {self.unit}".rstrip()


def _share_not_percent(number: float) -> str | None:
    if number <= 1:
        return (
            f"strengths are in % vol: {in_digits(number * 100, 'g')}, not {in_digits(number, 'g')}"
        )
    return None


STRENGTH = Within("% vol", above=0, high=100, hint=_share_not_percent)
LITRES = Within("L", above=0, high=100_000)
CONTENT = Within("L", low=0, high=100_000)
PHENOLS = Within("ppm", low=0, high=1000)
CELSIUS = Within("°C", low=-20, high=40)
MILLILITRES = Within("mL", above=0, high=1_000_000)
ON_THE_LINE = Within("points", low=0, high=100)
TOLERANCE = Within("points", above=0)
WEIGHT = Within("times", above=0)
ANY_NUMBER = Within("points")


@dataclass(frozen=True)
class Whole:
    """A whole number from `low` on; an empty cell gives `default`."""

    low: int
    default: int | None = None
    hint: Callable[[float], str | None] = lambda _number: None

    def __call__(self, text: str | None) -> int | None:
        """Return the number of a cell."""
        within = Within("", low=self.low, high=1_000_000, hint=self.hint, example=f"{self.low + 1}")
        number = within.read(text)
        if number is None:
            return self.default
        if not number.is_integer():
            raise fault("must be a whole number")
        return int(number)


SAID_BEFORE = "said"
"""The type of a fault that was told once for the whole column."""


def read_day(text: str | None) -> date | None:
    """Return the date of a cell, None for an empty one."""
    if isinstance(text, OpenDay):
        raise PydanticCustomError(SAID_BEFORE, "could be two dates")
    text = _present(text)
    if not text:
        return None
    if not ISO_DAY.fullmatch(text):
        raise fault(_better_day(text))
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise fault("there is no such day; a date is written year-month-day, 2026-11-25") from None
    if day.year < FIRST_YEAR:
        raise fault(f"lies before {FIRST_YEAR}")
    return day


def _better_day(text: str) -> str:
    if text.isdigit() and int(text) in DAY_NUMBERS and len(text) == 5:
        meant = EXCEL_EPOCH + timedelta(days=int(text))
        return f"is a spreadsheet's day number, perhaps {meant}: write the date as {meant}"
    parts = OTHER_DAY.fullmatch(text)
    meant_days = _possible_days(*parts.groups()) if parts else []
    if parts and not meant_days and len(parts[1]) < 3 > len(parts[3]):
        return "write the year with four digits, such as 2026-11-25"
    if not meant_days:
        return "a date is written year-month-day, such as 2026-11-25"
    return f"write {' or '.join(str(day) for day in meant_days)}, whichever is meant"


def _possible_days(first: str, second: str, third: str) -> list[date]:
    if len(first) == 4:
        orders = [(first, second, third)]
    elif len(third) == 4:
        orders = [(third, second, first), (third, first, second)]
    else:
        return []
    days = []
    for year, month, day in orders:
        try:
            days.append(date(int(year), int(month), int(day)))
        except ValueError:
            continue
    return list(dict.fromkeys(days))


def past_day(text: str | None, info: ValidationInfo) -> date | None:
    """Return a date that is not after today at the site, None for an empty cell."""
    day = read_day(text)
    today = info.context["today"] if info.context else None
    if day is not None and today is not None and day > today:
        raise fault(f"lies in the future (today is {today})")
    return day


def need_past_day(text: str | None, info: ValidationInfo) -> date:
    """Return a date that must be there and not after today at the site."""
    day = past_day(text, info)
    if day is None:
        raise fault("must not be empty: a date such as 2026-11-25")
    return day


def read_yes_no(text: str | None) -> bool:
    """Return whether a cell says yes; an empty one says no."""
    said = _present(text).casefold()
    if said in YES:
        return True
    if said in NO or not said:
        return False
    raise fault("must be yes or no")


@dataclass(frozen=True)
class OneOf:
    """One of the values of an enumeration, in any case of letters."""

    kind: type[StrEnum]

    def __call__(self, text: str | None) -> StrEnum:
        """Return the choice of a cell that must not be empty."""
        choice = self.read(text)
        if choice is None:
            raise fault(f"must not be empty: {self._listed()}")
        return choice

    def read(self, text: str | None) -> StrEnum | None:
        """Return the choice of a cell, None for an empty one."""
        text = _present(text)
        if not text:
            return None
        said = text.casefold()
        for member in self.kind:
            if member.value == said:
                return member
        close = get_close_matches(said, list(self.kind), n=1, cutoff=0.6)
        hint = f"; nearest: {close[0]}" if close else ""
        raise fault(f"must be one of {self._listed()}{hint}")

    def _listed(self) -> str:
        return ", ".join(self.kind)


Name = Annotated[str, BeforeValidator(need_name)]
OptionalName = Annotated[str | None, BeforeValidator(read_name)]
Text = Annotated[str, BeforeValidator(need_text)]
OptionalText = Annotated[str | None, BeforeValidator(read_text)]
Day = Annotated[date | None, BeforeValidator(read_day)]
PastDay = Annotated[date, BeforeValidator(need_past_day)]
OptionalPastDay = Annotated[date | None, BeforeValidator(past_day)]
YesNo = Annotated[bool, BeforeValidator(read_yes_no)]
Litres = Annotated[float, BeforeValidator(LITRES)]
OptionalLitres = Annotated[float | None, BeforeValidator(LITRES.read)]
Strength = Annotated[float, BeforeValidator(STRENGTH)]
OptionalStrength = Annotated[float | None, BeforeValidator(STRENGTH.read)]
FromOne = Annotated[int, BeforeValidator(Whole(1, default=1))]
OptionalFromOne = Annotated[int | None, BeforeValidator(Whole(1))]

"""Pure alcohol a month, out of the casks into samples and back by lines reversed, by reason."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panel.questions.register import Register, RegisterLine, ReversedLine


@dataclass(frozen=True)
class MonthReason:
    """What was drawn in one month for one reason, and what a reversing line took back of it.

    `month` is None for draws without a day, `reason` where none is on record.
    """

    month: str | None
    reason: str | None
    lines: int
    out_lpa: float
    reversed_lines: int
    in_lpa: float
    lines_without_lpa: int


@dataclass(frozen=True)
class Month:
    """What was drawn in one month; `month` is None for draws without a day."""

    month: str | None
    lines: int
    lpa: float
    lines_without_lpa: int
    open_lines: int
    in_lpa: float = 0.0
    reasons: tuple[MonthReason, ...] = ()

    json_keys = (
        *("month", "lines", ("lpa", "out_lpa"), "in_lpa", "lines_without_lpa"),
        *(("open_lines", "lines_without_reason_or_fate"), "reasons"),
    )


@dataclass(frozen=True)
class Months:
    """The register a month a line, in order; draws without a day stand last."""

    first: date | None
    last: date | None
    months: tuple[Month, ...]
    not_counted: tuple[str, ...]

    json_keys = (
        *(("first", "from"), ("last", "to"), "months", "out_lpa", "in_lpa", "not_counted"),
    )

    @property
    def out_lpa(self) -> float:
        """Litres of pure alcohol out of the casks, lines that were reversed later among them."""
        return sum(month.lpa for month in self.months)

    @property
    def in_lpa(self) -> float:
        """Litres of pure alcohol taken back by reversing lines."""
        return sum(month.in_lpa for month in self.months)


@dataclass(frozen=True)
class _Booked:
    """One line as it was booked on a day: out, or back in where it reverses one."""

    on: date | None
    reason: str | None
    lpa: float | None
    back: bool
    open: bool

    @property
    def month(self) -> str | None:
        return None if self.on is None else f"{self.on:%Y-%m}"


def by_month(register: Register) -> Months:
    """Return the register a month a line, and in each month by the reason that was given.

    A line that was reversed stands out in the month of its draw, in and out again as it stands now
    in that of the reversal: a month that is over is not changed by what is put right later.
    """
    booked: dict[str | None, list[_Booked]] = defaultdict(list)
    for each in _bookings(register):
        booked[each.month].append(each)
    order = sorted(booked, key=lambda month: (month is None, month or ""))
    months = tuple(_month(month, booked[month]) for month in order)
    return Months(register.first, register.last, months, register.not_counted)


def _bookings(register: Register) -> Iterator[_Booked]:
    before: dict[tuple[str, str], list[ReversedLine]] = defaultdict(list)
    for gone in register.reversals:
        before[gone.sample, gone.cask].append(gone)
    for line in register.lines:
        on = line.drawn_on
        for gone in before[line.sample, line.cask]:
            yield _Booked(on, gone.reason, gone.lpa, back=False, open=False)
            on = gone.reversed_on
            yield _Booked(on, gone.reason, gone.lpa, back=True, open=False)
        yield _Booked(on, line.reason, line.lpa, back=False, open=_says_too_little(line))


def _says_too_little(line: RegisterLine) -> bool:
    return line.reason is None or line.fate is None


def _month(month: str | None, booked: list[_Booked]) -> Month:
    reasons: dict[str | None, list[_Booked]] = defaultdict(list)
    for each in booked:
        reasons[each.reason].append(each)
    order = sorted(reasons, key=lambda reason: (reason is None, reason or ""))
    parts = tuple(_reason(month, reason, reasons[reason]) for reason in order)
    return Month(
        month,
        lines=sum(part.lines for part in parts),
        lpa=sum(part.out_lpa for part in parts),
        lines_without_lpa=sum(part.lines_without_lpa for part in parts),
        open_lines=sum(each.open for each in booked),
        in_lpa=sum(part.in_lpa for part in parts),
        reasons=parts,
    )


def _reason(month: str | None, reason: str | None, booked: list[_Booked]) -> MonthReason:
    out = [each for each in booked if not each.back]
    back = [each for each in booked if each.back]
    return MonthReason(
        month,
        reason,
        lines=len(out),
        out_lpa=sum(each.lpa or 0.0 for each in out),
        reversed_lines=len(back),
        in_lpa=sum(each.lpa or 0.0 for each in back),
        lines_without_lpa=sum(each.lpa is None for each in out),
    )

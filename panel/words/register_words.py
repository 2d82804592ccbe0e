"""The register in lines: pure alcohol a month by reason, and lines that were reversed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.words.columns import columns

if TYPE_CHECKING:
    from collections.abc import Sequence

    from panel.questions.register import Register, ReversedLine
    from panel.questions.register_months import Months
    from panel.records.register import SessionFates

MONTHLY = ("month", "why", "lines", "out, L", "in, L", "unknown")
WIDEST_REASON = 28
NO_REASON, NO_DAY = "no reason on record", "no day"
BOOKED = (
    "L: litres of pure alcohol. Out: drawn from casks in that month. In: taken back by a "
    "reversing line, whose right line stands out in the same month. Unknown: lines without mL or "
    "strength."
)


def month_lines(answer: Months) -> list[str]:
    """Return pure alcohol by month and reason, a total under each month, and what is left out."""
    rows: list[tuple[object, ...]] = []
    for month in answer.months:
        named = month.month or NO_DAY
        for part in month.reasons:
            why = (part.reason or NO_REASON)[:WIDEST_REASON]
            amounts = (part.lines, in_digits(part.out_lpa, ".3f"), in_digits(part.in_lpa, ".3f"))
            rows.append((named, why, *amounts, part.lines_without_lpa))
        if len(month.reasons) > 1:
            amounts = (month.lines, in_digits(month.lpa, ".3f"), in_digits(month.in_lpa, ".3f"))
            rows.append((named, "in all", *amounts, month.lines_without_lpa))
    total = (
        f"In all {in_digits(answer.out_lpa, '.3f')} L of pure alcohol out, "
        f"{in_digits(answer.in_lpa, '.3f')} L in."
    )
    return [*columns(MONTHLY, rows), "", total, *left_out_lines(answer.not_counted)]


def left_out_lines(sessions: tuple[str, ...]) -> list[str]:
    """Say which sessions' pours are not taken off yet."""
    if not sessions:
        return []
    return [
        f"What {', '.join(sessions)} pour is not taken off before the reveal: it would tell the "
        "key."
    ]


def reversed_lines(register: Register) -> list[str]:
    """Return the lines that were reversed, a line each; none where none was."""
    return [_reversed(line) for line in register.reversals]


def _reversed(line: ReversedLine) -> str:
    amount = (
        "mL not on record"
        if line.millilitres is None
        else (f"{in_digits(line.millilitres, 'g')} mL")
    )
    said = ", ".join((amount, line.reason or "no reason", line.fate or "no fate"))
    return (
        f"{line.reversed_on}  {line.sample} from {line.cask}: line {line.of_sample} ({said}) "
        f"reversed by {line.by}: {line.because}"
    )


def fates_words(told: SessionFates) -> str:
    """Return of how many samples of a session it is on record now what became of them."""
    parts = [
        f"{count} {what}"
        for count, what in (
            (told.leftovers, "leftovers"),
            (told.spikes, "references made up"),
            (told.posted, "posted"),
        )
        if count
    ]
    return f"Samples of {told.session}: {', '.join(parts) or 'nothing was open'}."


def open_words(count: int) -> str:
    """Return of how many samples it is not on record why they were drawn or what became of them."""
    if count == 1:
        return "1 sample does not say why it was drawn or what became of it."
    return f"{count} samples do not say why they were drawn or what became of them."


def sessions_open(untold: Sequence[tuple[str, int]]) -> list[str]:
    """Return the open point that sessions which are over leave in the register; none if none."""
    if not untold:
        return []
    name, count = untold[0]
    more = f", and {len(untold) - 1} sessions before it" if len(untold) > 1 else ""
    return [f"Open: {count} samples of {name}{more} say too little (Register of samples)"]

"""Is the database whole, and are its records those of the log? What was found, line by line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from panel.errors import EntriesAtFault
from panel.figures import in_digits
from panel.questions.kept_fits import check_fits
from panel.store.examine import Examination, examine

if TYPE_CHECKING:
    from panel.store.engine import Store

SIGNS = {"good": "ok", "warning": "look", "fault": "FAULT"}
FEWEST_DIGITS, MOST_DIGITS = 12, 64


def read_head(typed: str) -> str:
    """Return the first digits of a head of the log, as sheets print it.

    Raises
    ------
    EntriesAtFault
        It is none.
    """
    digits = "".join(typed.split()).lower()
    if not FEWEST_DIGITS <= len(digits) <= MOST_DIGITS or set(digits) - set("0123456789abcdef"):
        raise EntriesAtFault(
            {"head": f"{typed!r} is not 12 to 64 digits of a printed head (0-9, a-f)"}
        )
    return digits


def checked(
    store: Store,
    head: str | None,
    *,
    seen_anew: bool,
    fits: bool,
    tell: Callable[[int, int], None] | None = None,
) -> Examination:
    """Look at the database; *seen_anew* takes the head that stands there as the last one seen.

    With *fits* what is kept of the fit is reckoned anew and compared.
    """
    if seen_anew:
        store.note_head(anew=True)
    found = examine(store, head) if tell is None else examine(store, head, tell=tell)
    if not fits:
        return found
    with store.read() as db:
        return replace(found, findings=(*found.findings, *check_fits(db)))


def examination_lines(found: Examination) -> list[str]:
    """Return what was found, a line a finding, then how many records there are."""
    lines = [f"{found.database}: {found.library} {found.version}, tables {found.revision}"]
    for finding in found.findings:
        way = f" [by {finding.way}]" if finding.way else ""
        lines.append(f"  {SIGNS[finding.level]:5}  {finding.about}: {finding.words}{way}")
    counts = [
        (f"{in_digits(count, ',')} {name.replace('_', ' ')}")
        for name, count in found.counts.items()
    ]
    return [*lines, f"  holds  {', '.join(counts)}"]

"""How one assessor uses the line, note by note, over all sessions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from panel.figures import in_digits
from panel.questions.asked_profile import assessor_rows
from panel.words.answers import INDENT, paragraph
from panel.words.columns import columns

if TYPE_CHECKING:
    from analysis.profile import Profile
    from analysis.profile.rows import AssessorRow

MEANING = (
    "Higher by: points above the mean of the standing panel. Line: points for one point of the "
    "panel, so that 1 is alike and more is a wider line. Noise: standard deviation of one score, "
    "in points. Both bounds hold the truth 19 times in 20. Share: how much of the variance of "
    "these scores on unlike samples the note makes."
)


def assessor_lines(profile: Profile, code: str, width: int = 80) -> list[str]:
    """Return a line a note; what is for the person and the lead only is left out.

    Raises
    ------
    UnknownRecord
        Nobody of that code scored in a revealed session.
    """
    return [*_of_one(assessor_rows(profile, code), code, width), "", *paragraph(MEANING, width)]


def everybody_lines(profile: Profile, width: int = 80) -> list[str]:
    """Return the same of everybody who scored, in the order of their codes."""
    lines: list[str] = []
    for code, rows in groupby(assessor_rows(profile), key=itemgetter("assessor")):
        lines += [*_of_one(list(rows), code, width), ""]
    return [*lines, *paragraph(MEANING, width)]


def _of_one(rows: Sequence[AssessorRow], code: str, width: int) -> list[str]:
    table = [
        (row["descriptor"], _higher(row), _bounds(row, "scale", 2), _bounds(row, "noise", 1),
         _plain(row["signal_share"], 2), row["n_scores"])
        for row in rows
    ]  # fmt: skip
    headings = ("note", "higher by", "line", "noise", "share", "scores")
    lines = [f"{code} over all sessions", *columns(headings, table)]
    held = [row["descriptor"] for row in rows if row["note"]]
    if held:
        said = f"{', '.join(held)}: what is found is for the person and the lead only."
        lines += paragraph(said, width, INDENT)
    return lines


def _higher(row: Mapping[str, Any]) -> str:
    if row["offset"] is None:
        return "-"
    offset = round(row["offset"], 1) + 0.0
    return f"{in_digits(offset, '+.1f')} ±{in_digits(1.96 * row['offset_se'], '.1f')}"


def _bounds(row: Mapping[str, Any], what: str, places: int) -> str:
    low, high = row[f"{what}_low"], row[f"{what}_high"]
    return (
        "-"
        if low is None
        else (f"{in_digits(low, f'.{places}f')} to {in_digits(high, f'.{places}f')}")
    )


def _plain(value: float | None, places: int) -> str:
    return "-" if value is None else in_digits(value, f".{places}f")

"""Sheets for printing that text cannot do: large print, labels, mats. One file, nothing fetched."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from panel.errors import UnknownRecord
from panel.report.html import TEMPLATES, policy, template
from panel.words.passing_words import place_words, slip_pages

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from panel.questions.passing import Slip
    from panel.session.printed_codes import CodeOnTray, CodesOfSession

STOP = (
    "A nose held these casks. Do not empty, vat or bottle them before somebody has nosed them "
    "again and the hold is lifted in the records. The rules of your house and place come first."
)


@cache
def _style() -> str:
    return (TEMPLATES / "paper.css").read_text(encoding="utf-8")


def paper(name: str, title: str, **facts: object) -> str:
    """Return a sheet as one self-contained page that prints on A4."""
    from markupsafe import Markup

    style = _style()
    return template(name).render(title=title, policy=policy(style), style=Markup(style), **facts)


LABELS = {"3x8": (3, 8), "3x7": (3, 7), "4x10": (4, 10), "5x13": (5, 13)}
"""Columns and rows of a sheet of labels that fills an A4 page within its margins."""
USUAL_LABELS = "3x8"


def labels_page(found: CodesOfSession, sheet: str) -> str:
    """Return labels for glasses on sheets of A4, three digits large, tray after tray.

    Raises
    ------
    UnknownRecord
        There is no sheet of labels of that name.
    """
    if sheet not in LABELS:
        raise UnknownRecord(f"There is no sheet {sheet!r}. There are: {', '.join(LABELS)}.")
    across, down = LABELS[sheet]
    pages = [
        found.codes[start : start + across * down]
        for start in range(0, len(found.codes), across * down)
    ]
    title = f"Labels of {found.session}"
    return paper("labels.html", title, pages=pages, across=across, down=down)


def mats_page(found: CodesOfSession) -> str:
    """Return a mat for each flight of each tray: a place a glass, with its code, in order."""
    mats: dict[tuple[int, str, int], list[CodeOnTray]] = {}
    for one in found.codes:
        mats.setdefault((one.seat, one.assessor, one.flight), []).append(one)
    facts = {"mats": list(mats.items()), "session": found.session, "day": found.held_on}
    return paper("mats.html", f"Tray mats of {found.session}", **facts)


def slips_page(slips: Sequence[Slip], day: date) -> str:
    """Return a slip a warehouse in large print: what nobody may empty, where it lies, and why."""
    pages = [
        (warehouse, [(slip, place_words(slip)) for slip in mine])
        for warehouse, mine in slip_pages(slips)
    ]
    return paper("slips.html", "Do not empty", pages=pages, day=day, stop=STOP)

"""Sheets for printing that text cannot do: large print, labels, mats. One file, nothing fetched."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from panel.report.html import TEMPLATES, policy, template
from panel.words.passing_words import place_words, slip_pages

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from panel.questions.passing import Slip

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


def slips_page(slips: Sequence[Slip], day: date) -> str:
    """Return a slip a warehouse in large print: what nobody may empty, where it lies, and why."""
    pages = [
        (warehouse, [(slip, place_words(slip)) for slip in mine])
        for warehouse, mine in slip_pages(slips)
    ]
    return paper("slips.html", "Do not empty", pages=pages, day=day, stop=STOP)
